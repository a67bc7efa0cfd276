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
-- choices: A baby younger than the age at data end is open, readmitted or not: else readmitted ones would
--   count before those who were spared. So is one still in the birth stay, until the age has passed.
-- left out: no birth time, no gestation or below the limit, no birth stay, went where is unknown, died or
--   transferred out; home after the age; died by the age after going home, without a readmission
-- better: lower
-- direction: lower is better
-- chart: proportion by month
-- source: local definition, no national one was found; own network only; kernicterus code P57 as in
--   NICE QS57, other codes ICD-10 (from memory). Provisional until the last birth of the month is that old.
with judged as (
  select
    r.*, w.figure,
    case
      when r.state not in ('home', 'open') then r.state
      when r.home_age_s > w.within_s or (r.state = 'open' and r.followed_s >= w.within_s) then 'home_after_horizon'
      when r.followed_s < w.within_s then 'open'
      when r.readmitted_age_s <= w.within_s then 'readmitted'
      when r.died_age_s <= w.within_s then 'died'
      else 'not_readmitted'
    end as name,
    case when r.followed_all_s < w.within_s then 'provisional' end as also
  from readmissions r
  join protocol_windows w on w.version = r.version and w.purpose = 'readmission'
)
select
  concat('jaundice_readmission_', figure) as figure, month, unit, infant_id, infant_id as case_id, born_s as at_s,
  case when name in ('open', 'readmitted', 'not_readmitted') then 'outcome' else 'left_out' end as kind,
  name, also
from judged
