-- title: Latest event of a table, not after the load
-- grain: one row
-- reads: live
-- choices: The end of a stay or of phototherapy is an event too; when a serum resulted is not.
with moments as (
  select event_s as at_s from live
  union all
  select until_s as at_s from live
)
select max(at_s) as latest_s
from moments
where at_s <= cast($loaded_at_s as bigint)
