-- title: The stays
-- grain: one row per stay
-- reads: versions, fates, identities, set_aside
-- choices: A row of the contract tells everything: the last one stands. A record that tells only
--   part (said lists its columns) leaves what it does not tell as the rows before it told it. Where
--   a row was read is told of the last. A later version that had to be set aside leaves this one
--   standing, flagged. Rows of a baby merged into another carry the id that stands.
with refused as (
  select row_id, max(load * 1000000000 + seq) as last_refused
  from set_aside
  where table_name = $table and row_id is not null
  group by row_id
),
in_parts as (
  select distinct f.stands_for
  from versions v
  join fates f on f.load = v.load and f.seq = v.seq and f.fate in ('kept', 'superseded')
  where v.said is not null
),
told as (
  select
    f.stands_for,
    first_value(v.unit order by f.place) filter (where v.said is null or strpos(v.said, ',unit,') > 0) as unit,
    first_value(named_struct(
      'text', v.admitted_text, 'at', v.admitted_at, 's', v.admitted_s, 'local_day', v.local_day,
      'local_hour', v.local_hour, 'is_weekend', v.is_weekend, 'clock_flag', v.clock_flag, 'local_month', v.local_month
    ) order by f.place) filter (where v.said is null or strpos(v.said, ',admitted_at,') > 0) as admitted,
    first_value(named_struct(
      'text', v.discharged_text, 'at', v.discharged_at, 's', v.discharged_s, 'month', v.until_month
    ) order by f.place) filter (where v.said is null or strpos(v.said, ',discharged_at,') > 0) as discharged,
    first_value(v.source order by f.place) filter (where v.said is null or strpos(v.said, ',source,') > 0) as source,
    first_value(v.disposition order by f.place) filter (where v.said is null or strpos(v.said, ',disposition,') > 0) as disposition,
    first_value(named_struct('codes', v.diagnoses, 'first', v.primary_code) order by f.place)
      filter (where v.said is null or strpos(v.said, ',diagnoses,') > 0) as diagnoses
  from versions v
  join fates f on f.load = v.load and f.seq = v.seq and f.fate in ('kept', 'superseded')
  left semi join in_parts p on p.stands_for = f.stands_for
  group by f.stands_for
),
standing as (
  select v.*, f.stands_for, coalesce(i.infant_id, v.infant_id) as baby_id
  from versions v
  join fates f on f.load = v.load and f.seq = v.seq and f.fate = 'kept'
  left join identities i on i.from_infant_id = v.of_infant_id
)
select
  s.stay_id, s.baby_id as infant_id,
  case when t.stands_for is null then s.unit else t.unit end as unit,
  case when t.stands_for is null then s.admitted_text else get_field(t.admitted, 'text') end as admitted_text,
  case when t.stands_for is null then s.admitted_at else get_field(t.admitted, 'at') end as admitted_at,
  case when t.stands_for is null then s.admitted_s else get_field(t.admitted, 's') end as admitted_s,
  case when t.stands_for is null then s.local_day else get_field(t.admitted, 'local_day') end as local_day,
  case when t.stands_for is null then s.local_hour else get_field(t.admitted, 'local_hour') end as local_hour,
  case when t.stands_for is null then s.is_weekend else get_field(t.admitted, 'is_weekend') end as is_weekend,
  case when t.stands_for is null then s.clock_flag else get_field(t.admitted, 'clock_flag') end as clock_flag,
  case when t.stands_for is null then s.discharged_text else get_field(t.discharged, 'text') end as discharged_text,
  case when t.stands_for is null then s.discharged_at else get_field(t.discharged, 'at') end as discharged_at,
  case when t.stands_for is null then s.discharged_s else get_field(t.discharged, 's') end as discharged_s,
  case when t.stands_for is null then s.source else t.source end as source,
  case when t.stands_for is null then s.disposition else t.disposition end as disposition,
  case when t.stands_for is null then s.diagnoses else get_field(t.diagnoses, 'codes') end as diagnoses,
  case when t.stands_for is null then s.primary_code else get_field(t.diagnoses, 'first') end as primary_code,
  s.row_id, s.baby_id as of_infant_id,
  case when t.stands_for is null then s.event_s else get_field(t.admitted, 's') end as event_s,
  case when t.stands_for is null then s.local_month else get_field(t.admitted, 'local_month') end as local_month,
  case when t.stands_for is null then s.until_s else get_field(t.discharged, 's') end as until_s,
  case when t.stands_for is null then s.until_month else get_field(t.discharged, 'month') end as until_month,
  s.version_rank, s.version_s, s.record_status, s.recorded_s, s.said, s.row_hash,
  s.load, s.seq, s.file, s.line,
  coalesce(r.last_refused > s.load * 1000000000 + s.seq, false) as newer_version_set_aside,
  case when t.stands_for is null then s.local_month else get_field(t.admitted, 'local_month') end as month
from standing s
left join told t on t.stands_for = s.stands_for
left join refused r on r.row_id = s.row_id
