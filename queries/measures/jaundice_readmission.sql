-- title: Readmission for jaundice
-- what: Babies born in the month who went home from the birth stay, and whether they were
--   readmitted for jaundice by the ages the protocol names.
-- grain: one row per figure and baby born in the month
-- reads: readmissions, protocol_windows
-- needs: births, phototherapy, stays
-- kind: proportion
-- outcomes: readmitted, not_readmitted, open
-- figures: jaundice_readmission_* = readmitted / readmitted + not_readmitted
-- labels: jaundice_readmission_* = Readmitted for jaundice by {number} days of age
-- quantity: share
-- cases: sent home
-- each: day of age
-- starts with: births of the month
-- dropped: after_data_end then by data end
-- left out: no birth time, no gestation or below the limit, no birth stay, went where is unknown, died or
--   transferred out
-- better: lower
-- direction: lower is better
-- chart: proportion by month
-- source: local definition, no national one was found; own network only; kernicterus code P57 as in
--   NICE QS57, other codes ICD-10 (from memory). Provisional until 28 days after the last birth.
select
  concat('jaundice_readmission_', w.figure) as figure, r.month, r.unit, r.infant_id, r.infant_id as case_id,
  r.born_s as at_s,
  case when r.state in ('home', 'open') then 'outcome' else 'left_out' end as kind,
  case
    when r.state <> 'home' then r.state
    when r.readmitted_age_s <= w.within_s then 'readmitted'
    else 'not_readmitted'
  end as name,
  case when r.is_provisional then 'provisional' end as also
from readmissions r
join protocol_windows w on w.version = r.version and w.purpose = 'readmission'
