-- title: The live rows of a table whose rows belong to babies
-- grain: one row per id: its last version
-- reads: versions, fates, identities, set_aside
-- choices: A later version of the id that had to be set aside leaves this one standing, flagged.
--   Rows of a baby merged into another carry the id that stands.
with refused as (
  select row_id, max(load * 1000000000 + seq) as last_refused
  from set_aside
  where table_name = $table and row_id is not null
  group by row_id
)
select
  v.* replace (
    coalesce(i.infant_id, v.infant_id) as infant_id,
    coalesce(i.infant_id, v.of_infant_id) as of_infant_id
  ),
  coalesce(r.last_refused > v.load * 1000000000 + v.seq, false) as newer_version_set_aside,
  v.local_month as month
from versions v
join fates f on f.load = v.load and f.seq = v.seq and f.fate = 'kept'
left join identities i on i.from_infant_id = v.of_infant_id
left join refused r on r.row_id = v.row_id
