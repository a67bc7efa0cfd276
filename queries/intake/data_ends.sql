-- title: Through when each table is complete
-- grain: one row per table
-- reads: data_ends
select table_name, through_s
from data_ends
order by table_name
