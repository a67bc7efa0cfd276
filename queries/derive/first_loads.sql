-- title: When tables and ids came first
-- grain: one row per table (row_id null), and one per id whose rows came by several loads
-- reads: row_keys
-- looks back: over all loads
-- looks ahead: not at all
-- choices: Rows accepted, whatever became of them; rows set aside do not count. An id that is not
--   listed came by one load only.
with versions as (
  select table_name, row_id, load
  from row_keys
  where not is_aside
)
select table_name, cast(null as varchar) as row_id, min(load) as load
from versions
group by table_name
union all
select table_name, row_id, min(load)
from versions
where row_id is not null
group by table_name, row_id
having min(load) < max(load)
order by table_name, row_id
