-- title: Rows set aside by this load
-- grain: one row per file, table and reason
-- reads: new_set_aside
select file, table_name, reason, count(*) as n
from new_set_aside
where load = cast($load as bigint)
group by file, table_name, reason
order by file, table_name, reason
