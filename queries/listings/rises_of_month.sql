-- title: Fast rises of a month
-- grain: one row per table
-- reads: rises
-- choices: Of one unit, or of all where $unit is empty.
select test_table, count(*) as rises, count(distinct infant_id) as babies
from rises
where month = $month and ($unit = '' or unit = $unit)
group by test_table
order by test_table
