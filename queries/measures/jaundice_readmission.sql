-- title: Readmission for jaundice
-- what: Babies born in the month who went home from the birth stay, and whether they were
--   readmitted for jaundice by the ages the protocol names.
-- grain: one row per figure and baby born in the month; another where its month is provisional
-- reads: readmissions, births, protocol_windows, protocol_limits
-- needs: births, phototherapy, stays
-- kind: proportion
-- outcomes: readmitted, not_readmitted, open
-- figures: jaundice_readmission_* = readmitted / readmitted + not_readmitted
-- starts with: births of the month
-- dropped: after_data_end then by data end
-- left out: no birth time, no gestation or below the limit, no birth stay, went where is unknown, died or
--   transferred out
-- better: lower
-- direction: lower is better
-- chart: proportion by month
-- source: local definition, no national one was found; own network only; kernicterus code P57 as in
--   NICE QS57, other codes ICD-10 (from memory). Provisional until 28 days after the last birth.
with told as (
  select
    concat('jaundice_readmission_', w.figure) as figure, r.month, r.unit, r.infant_id, r.born_s,
    case when r.state in ('home', 'open') then 'outcome' else 'left_out' end as kind,
    case
      when r.state <> 'home' then r.state
      when r.readmitted_age_s <= w.within_s then 'readmitted'
      else 'not_readmitted'
    end as name,
    r.is_provisional
  from readmissions r
  join protocol_windows w on w.version = r.version and w.purpose = 'readmission'
  where r.month between $first_month and $last_month
),
cases as (
  select figure, month, unit, infant_id, born_s, kind, name from told
  union all
  select figure, month, unit, infant_id, born_s, 'provisional', 'provisional' from told where is_provisional
  union all
  select
    concat('jaundice_readmission_', w.figure), b.local_month, coalesce(b.unit, 'unknown'), b.infant_id, b.born_s,
    'dropped', 'after_data_end'
  from births b
  join protocol_limits l
    on coalesce(b.born_s, b.born_day_s) >= l.from_s and coalesce(b.born_s, b.born_day_s) < l.to_s
  join protocol_windows w on w.version = l.version and w.purpose = 'readmission'
  left anti join readmissions r on r.infant_id = b.infant_id
  where b.local_month between $first_month and $last_month
)
select figure, month, unit, infant_id, infant_id as case_id, born_s as at_s, kind, name
from cases
