-- title: Readmission for jaundice
-- what: Babies born in the month who went home from the birth stay, and whether they were
--   readmitted for jaundice by the ages the protocol names.
-- grain: one row per month of birth, unit of birth, figure and outcome or reason
-- reads: readmissions, protocol_windows
-- needs: births, phototherapy, stays
-- kind: proportion
-- outcomes: readmitted, not_readmitted, open
-- figures: jaundice_readmission_* = readmitted / readmitted + not_readmitted
-- left out: no birth time, no gestation or below the limit, no birth stay, went where is unknown, died or
--   transferred out
-- direction: lower is better
-- chart: proportion by month
-- source: local definition, no national one was found; own network only; kernicterus code P57 as in
--   NICE QS57, other codes ICD-10 (from memory). Provisional until 28 days after the last birth.
with told as (
  select
    concat('jaundice_readmission_', w.figure) as figure, r.month, r.unit,
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
counted as (
  select figure, month, unit, kind, name from told
  union all
  select figure, month, unit, 'provisional', 'provisional' from told where is_provisional
)
select figure, month, unit, kind, name, count(*) as n
from counted
group by figure, month, unit, kind, name
order by figure, month, unit, kind, name
