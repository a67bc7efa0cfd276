-- title: What became of each row
-- grain: one row per version ever accepted into the table
-- reads: versions, births, identities, protocol_limits
-- choices: In this order: before_birth (a test too long before birth is set aside), held (the
--   baby is not in the birth register), withdrawn (any row of the id withdraws it, for good),
--   incomplete (held as well: no row of the id says when), kept (the last version of its id),
--   superseded. A withdrawal that names no baby is not held. Versions of an id are ordered by
--   serum status (preliminary, final, corrected, cancelled), then result time, then recorded_at,
--   then load, then row; an unknown time comes first. Rows of a baby merged into another are
--   rows of that one; of two births that become one so, what was recorded under the id that
--   stands comes last. place counts the versions of what a row stands for, the last as 1.
with identified as (
  select
    v.row_id, v.load, v.seq, v.file, v.version_rank, v.version_s, v.recorded_s, v.event_s, v.local_month,
    v.record_status, v.of_infant_id,
    coalesce(i.infant_id, v.of_infant_id) as baby_id,
    case when $is_register = 'yes' then coalesce(i.infant_id, v.row_id) else v.row_id end as stands_for,
    $is_register = 'yes' and i.infant_id is not null as is_merged_in
  from versions v
  left join identities i on i.from_infant_id = v.of_infant_id
),
placed as (
  select
    v.*,
    case
      when $is_test = 'yes' and v.event_s < coalesce(b.born_s, b.born_day_s) - l.test_before_birth_s then 'before_birth'
      when v.of_infant_id is not null and $of_a_baby = 'yes' and b.infant_id is null then 'held'
    end as early_fate,
    count(case when v.record_status = 'withdrawn' then 1 end) over (partition by v.row_id) > 0 as is_withdrawn
  from identified v
  cross join (select max(test_before_birth_s) as test_before_birth_s from protocol_limits) l
  left join births b on b.infant_id = v.baby_id
),
ordered as (
  select
    *,
    count(local_month) over (partition by stands_for, is_withdrawn) = 0 as is_incomplete,
    row_number() over (
      partition by stands_for, early_fate is null, is_withdrawn
      order by is_merged_in, version_rank desc, version_s desc nulls last, recorded_s desc nulls last, load desc, seq desc
    ) as place
  from placed
)
select
  row_id, load, seq, file, stands_for, place,
  case
    when early_fate is not null then early_fate
    when is_withdrawn then 'withdrawn'
    when is_incomplete then 'incomplete'
    when place = 1 then 'kept'
    else 'superseded'
  end as fate
from ordered
