-- title: Recheck adherence
-- what: Tests that a rule of the protocol called for after a trigger, and whether one was taken
--   inside its window.
-- grain: one row per month, unit, rule and outcome or reason
-- reads: recheck_obligations
-- needs: births, screens, serum, phototherapy, stays
-- kind: proportion
-- outcomes: on_time, late, early_only, none, excused, left, open
-- figures: recheck_adherence_* = on_time / on_time + late + early_only + none
-- left out: tests that might have been a trigger but lack birth time, gestation or a line; baby's
--   stay ended without a disposition before the window closed
-- direction: higher is better
-- chart: proportion by month
-- source: rules NICE CG98, hours from memory; outcomes are local definitions. Obligations of one
--   baby are not independent: the interval takes them as if they were, and is too narrow.
select
  concat('recheck_adherence_', rule) as figure, month, unit,
  case when outcome is null then 'left_out' else 'outcome' end as kind,
  coalesce(outcome, left_out) as name,
  count(*) as n
from recheck_obligations
where month between $first_month and $last_month
group by 1, 2, 3, 4, 5
order by figure, month, unit, kind, name
