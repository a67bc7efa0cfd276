-- title: Cases of a measure, counted
-- grain: one row per figure, month, unit, group, kind and name
-- reads: grouped_cases
select figure, month, unit, group_name, kind, name, count(*) as n
from grouped_cases
where kind <> 'dropped'
group by figure, month, unit, group_name, kind, name
order by figure, month, unit, group_name, kind, name
