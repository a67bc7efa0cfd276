-- title: The live rows of a table that is of no baby
-- grain: one row per id: its last version
-- reads: versions, fates, set_aside
-- choices: A later version of the id that had to be set aside leaves this one standing, flagged.
with refused as (
  select row_id, max(load * 1000000000 + seq) as last_refused
  from set_aside
  where table_name = $table and row_id is not null
  group by row_id
)
select
  v.*,
  coalesce(r.last_refused > v.load * 1000000000 + v.seq, false) as newer_version_set_aside,
  v.local_month as month
from versions v
join fates f on f.load = v.load and f.seq = v.seq and f.fate = 'kept'
left join refused r on r.row_id = v.row_id
