-- title: Rows set aside by this load
-- grain: one row per file and reason
-- reads: new_set_aside
select file, reason, count(*) as n
from new_set_aside
where load = cast($load as bigint)
group by file, reason
order by file, reason
