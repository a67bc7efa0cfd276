-- title: What became of each row
-- grain: one row per version ever accepted into the table
-- reads: versions, births, protocol_limits
-- choices: In this order: before_birth (a test too long before birth is set aside), held (the
--   baby is not in the birth register), withdrawn (any row of the id withdraws it, for good),
--   kept (the last version of its id), superseded. A withdrawal that names no baby is not held.
--   Versions of an id are ordered by serum status (preliminary, final, corrected, cancelled),
--   then result time, then recorded_at, then load, then row; an unknown time comes first.
with placed as (
  select
    v.row_id, v.load, v.seq, v.file, v.version_rank, v.version_s, v.recorded_s,
    case
      when $is_test = 'yes' and v.event_s < coalesce(b.born_s, b.born_day_s) - l.test_before_birth_s then 'before_birth'
      when v.of_infant_id is not null and $of_a_baby = 'yes' and b.infant_id is null then 'held'
    end as early_fate,
    count(case when v.record_status = 'withdrawn' then 1 end) over (partition by v.row_id) > 0 as is_withdrawn
  from versions v
  cross join (select max(test_before_birth_s) as test_before_birth_s from protocol_limits) l
  left join births b on b.infant_id = v.of_infant_id
),
ordered as (
  select
    *,
    row_number() over (
      partition by row_id, early_fate is null
      order by version_rank desc, version_s desc nulls last, recorded_s desc nulls last, load desc, seq desc
    ) as place
  from placed
)
select
  row_id, load, seq, file,
  case
    when early_fate is not null then early_fate
    when is_withdrawn then 'withdrawn'
    when place = 1 then 'kept'
    else 'superseded'
  end as fate
from ordered
