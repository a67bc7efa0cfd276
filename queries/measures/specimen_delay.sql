-- title: Delay after a failed specimen
-- what: How long after a specimen that gave no number the baby's next valid one was collected.
-- grain: one row per failed specimen
-- reads: judged_serum, known_until
-- needs: births, serum
-- kind: median
-- outcomes: redrawn, not_redrawn
-- figures: specimen_delay_median = redrawn / redrawn + not_redrawn
-- labels: specimen_delay_median = Median delay after a failed specimen
-- quantity: hours
-- cases: failed
-- starts with: failed specimens of the month
-- choices: The next valid serum is the first of the baby collected at or after the failed one.
--   Specimens without one by data end are counted and are in no median.
-- better: lower
-- direction: lower is better
-- chart: median by month
-- source: local definition
with failed as (
  select s.month, s.unit, s.infant_id, s.specimen_id, s.collected_s, u.serum_s as data_end_s
  from judged_serum s
  cross join known_until u
  where s.is_failed_attempt and s.known_from_s <= u.serum_s
),
redrawn as (
  select f.specimen_id, min(v.collected_s) as next_s
  from failed f
  join judged_serum v
    on v.infant_id = f.infant_id and v.is_valid and v.collected_s >= f.collected_s and v.collected_s <= f.data_end_s
  group by f.specimen_id
)
select
  'specimen_delay_median' as figure, f.month, f.unit, f.infant_id, f.specimen_id as case_id, f.collected_s as at_s,
  'outcome' as kind,
  case when r.next_s is null then 'not_redrawn' else 'redrawn' end as name,
  r.next_s - f.collected_s as time_s
from failed f
left join redrawn r on r.specimen_id = f.specimen_id
