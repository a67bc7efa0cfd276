-- title: Months with rows, by table
-- grain: one row per source table and month
-- reads: table_months
select table_name, month
from table_months
order by table_name, month
