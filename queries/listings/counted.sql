-- title: Cases, counted
-- grain: one row per split, measure, figure, month, unit, group, kind, names and amount; of measures
--   whose cases come in clusters one for each baby
-- reads: grouped_cases
-- choices: The amount is a time, seconds, or a difference, millionths of umol/L. $clustered names the
--   measures whose cases come in clusters, with spaces between.
select
  split, measure, figure, month, unit, group_name, kind, name, also,
  coalesce(time_s, difference_micro) as amount,
  case when strpos(' ' || $clustered || ' ', ' ' || measure || ' ') > 0 then infant_id end as infant_id,
  count(*) as n
from grouped_cases
group by
  split, measure, figure, month, unit, group_name, kind, name, also, coalesce(time_s, difference_micro),
  case when strpos(' ' || $clustered || ' ', ' ' || measure || ' ') > 0 then infant_id end
order by split, measure, figure, month, unit, group_name, kind, name, amount, infant_id, also
