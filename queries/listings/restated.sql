-- title: Figures of a month that have moved since they were told as final
-- grain: one row per figure of the network
-- reads: figure_history
-- choices: A figure is told as final by the first load at which the month was over, nothing of it
--   was open and it was not provisional. It has moved when it is another now. The load told beside
--   it is the last one that moved it, and the cause is that load's: data, definitions (the
--   protocol or the queries), or both, where it cannot be told which. How complete the records are
--   is no figure of care, so it is not told.
with numbered as (
  select
    *,
    row_number() over (partition by measure, is_final order by load) as place_among_final,
    row_number() over (partition by measure order by load desc) as place_from_last
  from figure_history
  where month = $month and not starts_with(measure, 'record_quality_')
),
told as (
  select * from numbered where is_final and place_among_final = 1
),
now as (
  select * from numbered where place_from_last = 1
)
select
  n.measure,
  t.load as told_load, t.numerator as told_numerator, t.denominator as told_denominator, t.value as told_value,
  n.load as now_load, n.numerator as now_numerator, n.denominator as now_denominator, n.value as now_value,
  n.load as since_load, n.cause
from now n
join told t on t.measure = n.measure
where n.load > t.load
  and (coalesce(n.numerator, -1) <> coalesce(t.numerator, -1)
    or coalesce(n.denominator, -1) <> coalesce(t.denominator, -1)
    or coalesce(n.value, -1) <> coalesce(t.value, -1))
order by n.measure
