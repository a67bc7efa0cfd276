-- title: Fast rises of a month
-- grain: one row per table
-- reads: rises
select test_table, count(*) as rises, count(distinct infant_id) as babies
from rises
where month = $month
group by test_table
order by test_table
