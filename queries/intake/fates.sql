-- title: What became of each row
-- grain: one row per version that is looked at
-- reads: keys_looked_at, row_keys, births_known, protocol_limits
-- choices: In this order: before_birth (a test too long before birth is set aside), held (the
--   baby is not in the birth register), withdrawn (any row of the id withdraws it, for good),
--   incomplete (held as well: no row of the id says when), kept (the last version of its id),
--   superseded. A withdrawal that names no baby is not held. Versions of an id are ordered by
--   serum status (preliminary, final, corrected, cancelled), then result time, then recorded_at,
--   then load, then row; an unknown time comes first. Of two births that become one, what was
--   recorded under the id that stands comes last. place counts the versions of what a row stands
--   for, the last as 1. is_in_parts: some version tells only part, so that the row that stands is
--   put together. A later version of the id that had to be set aside leaves this one standing, flagged.
with withdrawn as (
  select distinct table_name, row_id
  from keys_looked_at
  where is_withdrawal
),
refused as (
  select table_name, row_id, max(load * 1000000000 + seq) as last_refused
  from row_keys
  where is_aside and row_id is not null
  group by table_name, row_id
),
placed as (
  select
    k.*, w.row_id is not null as is_withdrawn,
    coalesce(r.last_refused > k.load * 1000000000 + k.seq, false) as newer_version_set_aside,
    case
      when k.table_name in ('screens', 'serum') and k.event_s < coalesce(b.born_s, b.born_day_s) - l.test_before_birth_s
        then 'before_birth'
      when k.of_infant_id is not null and k.table_name not in ('births', 'merges', 'meter_checks') and b.infant_id is null
        then 'held'
    end as early_fate
  from keys_looked_at k
  cross join (select max(test_before_birth_s) as test_before_birth_s from protocol_limits) l
  left join births_known b on b.infant_id = k.baby_id
  left join withdrawn w on w.table_name = k.table_name and w.row_id = k.row_id
  left join refused r on r.table_name = k.table_name and r.row_id = k.row_id
),
ordered as (
  select
    *,
    count(local_month) over (partition by table_name, stands_for, is_withdrawn) = 0
      as is_incomplete,
    max(case when is_part then 1 else 0 end) over (
      partition by table_name, stands_for, is_withdrawn, early_fate is null
    ) = 1 as is_in_parts,
    row_number() over (
      partition by table_name, stands_for, is_withdrawn, early_fate is null
      order by is_merged_in, version_rank desc, version_s desc nulls last, recorded_s desc nulls last, load desc, seq desc
    ) as place
  from placed
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
