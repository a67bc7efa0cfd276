-- title: What became of each row
-- grain: one row per version that is looked at
-- reads: placed_keys
-- choices: In this order: before_birth (a test too long before birth is set aside), which_result
--   (held as well: a withdrawal that does not say which result of a specimen it means), held (the
--   baby is not in the birth register), withdrawn (any row of the id withdraws it, for good),
--   incomplete (held as well: no row of the id says when), kept (the last version of its id),
--   superseded. A withdrawal that names no baby is not held. Versions of an id are ordered by
--   serum status (preliminary, final, corrected, cancelled), then result time, then recorded_at,
--   then load, then row; an unknown time comes first. Of two births that become one, what was
--   recorded under the id that stands comes last. place counts the versions of what a row stands
--   for, the last as 1. is_in_parts: some version states only part, so that the row that stands is
--   put together; only then can it lack its moment. A later version of the id that had to be set
--   aside leaves this one standing, flagged.
with in_parts as (
  select distinct table_name, stands_for, is_withdrawn, early_fate is null as is_judged
  from placed_keys
  where is_part
),
undated as (
  select p.table_name, p.stands_for, p.is_withdrawn
  from in_parts i
  right semi join placed_keys p on p.table_name = i.table_name and p.stands_for = i.stands_for
  group by p.table_name, p.stands_for, p.is_withdrawn
  having count(p.local_month) = 0
),
or_in_parts as (
  select p.*, i.stands_for is not null as is_in_parts
  from in_parts i
  right join placed_keys p
    on i.table_name = p.table_name and i.stands_for = p.stands_for and i.is_withdrawn = p.is_withdrawn
    and i.is_judged = (p.early_fate is null)
),
or_undated as (
  select p.*, u.stands_for is not null as is_incomplete
  from undated u
  right join or_in_parts p
    on u.table_name = p.table_name and u.stands_for = p.stands_for and u.is_withdrawn = p.is_withdrawn
),
ordered as (
  select
    *,
    row_number() over (
      partition by table_name, stands_for, is_withdrawn, early_fate is null
      order by is_merged_in, version_rank desc, version_s desc nulls last, recorded_s desc nulls last, load desc, seq desc
    ) as place
  from or_undated
)
select
  table_name, load, seq, place, is_in_parts, newer_version_set_aside,
  case when table_name = 'births' or is_in_parts then stands_for end as stands_for,
  case
    when early_fate is not null then early_fate
    when is_withdrawn then 'withdrawn'
    when is_incomplete then 'incomplete'
    when place = 1 then 'kept'
    else 'superseded'
  end as fate,
  case when table_name = 'births' and says_birth then event_s end as born_s,
  case when table_name = 'births' and says_birth then day_s end as born_day_s,
  table_name = 'births' and says_birth as says_birth,
  local_month
from ordered
order by table_name, load, seq
