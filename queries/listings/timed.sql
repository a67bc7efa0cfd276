-- title: Cases of a measure of time, counted
-- grain: one row per split, figure, month, unit, group, kind, name and time
-- reads: grouped_cases
-- kind: time
select split, figure, month, unit, group_name, kind, name, time_s, count(*) as n
from grouped_cases
where kind <> 'dropped'
group by split, figure, month, unit, group_name, kind, name, time_s
order by split, figure, month, unit, group_name, kind, name, time_s
