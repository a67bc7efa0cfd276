-- title: Cases of a measure, counted for each baby
-- grain: one row per split, figure, month, unit, group, baby and name
-- reads: grouped_cases
select split, figure, month, unit, group_name, infant_id, name, count(*) as n
from grouped_cases
where kind = 'outcome'
group by split, figure, month, unit, group_name, infant_id, name
order by split, figure, month, unit, group_name, infant_id, name
