-- title: Ids of which something has changed in this load
-- grain: one row per id
-- reads: versions, identities, changed_babies, set_aside
-- choices: An id has a new row, or one newly set aside, or is of a baby whose birth or identity has
--   changed. What became of all others is as it was. A birth goes by the id that stands as well.
with identified as (
  select
    v.row_id, v.load, v.of_infant_id, coalesce(i.infant_id, v.of_infant_id) as baby_id,
    case when $is_register = 'yes' then coalesce(i.infant_id, v.row_id) else v.row_id end as stands_for
  from versions v
  left join identities i on i.from_infant_id = v.of_infant_id
),
changed as (
  select v.stands_for
  from identified v
  left join changed_babies c on c.infant_id = v.baby_id
  left join changed_babies d on d.infant_id = v.of_infant_id
  where v.load = cast($load as bigint) or c.infant_id is not null or d.infant_id is not null
  union
  select v.stands_for
  from set_aside s
  join identified v on v.row_id = s.row_id
  where s.load = cast($load as bigint) and s.table_name = $table
  union
  select infant_id as stands_for from changed_babies where $is_register = 'yes'
)
select stands_for as row_id from changed
union
select v.row_id
from identified v
left semi join changed c on c.stands_for = v.stands_for
