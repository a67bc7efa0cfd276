-- title: Cases, counted
-- grain: one row per split, measure, figure, month, unit, group, kind, names and amount; of measures
--   whose cases come in clusters one for each cluster
-- reads: grouped_cases
-- choices: The amount is a time, seconds, or a difference, millionths of umol/L. $clustered names the
--   measures whose cases come in clusters, with spaces between. A case belongs to the cluster it
--   names, else to that of its baby; a case of neither is a cluster of its own.
select
  split, measure, figure, month, unit, group_name, kind, name, also,
  coalesce(time_s, difference_micro) as amount,
  case
    when strpos(' ' || $clustered || ' ', ' ' || measure || ' ') > 0 then coalesce(cluster_id, infant_id, case_id)
  end as cluster_key,
  count(*) as n
from grouped_cases
group by
  split, measure, figure, month, unit, group_name, kind, name, also, coalesce(time_s, difference_micro),
  case
    when strpos(' ' || $clustered || ' ', ' ' || measure || ' ') > 0 then coalesce(cluster_id, infant_id, case_id)
  end
order by split, measure, figure, month, unit, group_name, kind, name, amount, cluster_key, also
