-- title: Figures of a month that have moved since they were told as final
-- grain: one row per figure of the network
-- reads: figure_history
-- choices: A figure is told as final by the first load at which the month was over, nothing of it
--   was open and it was not provisional. It has moved when it is another now. The load told beside
--   it is the last one that moved it, and the cause is that load's: data, or definitions (the
--   protocol or the queries).
with numbered as (
  select
    *,
    row_number() over (partition by measure, is_final order by load) as place_among_final,
    row_number() over (partition by measure order by load desc) as place_from_last
  from figure_history
  where month = $month
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
  and ((n.numerator is distinct from t.numerator)
    or (n.denominator is distinct from t.denominator)
    or (n.value is distinct from t.value))
order by n.measure
