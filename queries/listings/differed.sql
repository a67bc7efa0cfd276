-- title: Cases of a measure of differences, counted
-- grain: one row per split, figure, month, unit, group, kind, name and difference
-- reads: grouped_cases
-- kind: difference
select split, figure, month, unit, group_name, kind, name, difference_micro, count(*) as n
from grouped_cases
where kind <> 'dropped'
group by split, figure, month, unit, group_name, kind, name, difference_micro
order by split, figure, month, unit, group_name, kind, name, difference_micro
