-- title: Cases of a measure, counted
-- grain: one row per split, figure, month, unit, group, kind and name
-- reads: grouped_cases
select split, figure, month, unit, group_name, kind, name, count(*) as n
from grouped_cases
where kind <> 'dropped'
group by split, figure, month, unit, group_name, kind, name
order by split, figure, month, unit, group_name, kind, name
