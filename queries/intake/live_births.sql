-- title: The birth register
-- grain: one row per baby
-- reads: versions, fates, set_aside
-- choices: A row of the contract tells everything: the last one stands. A record that tells only
--   part (said lists its columns) leaves what it does not tell as the rows before it told it, also
--   those of a baby merged into this one. Where a row was read is told of the last. A later
--   version that had to be set aside leaves this one standing, flagged.
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
    first_value(v.mother_id order by f.place) filter (where v.said is null or strpos(v.said, ',mother_id,') > 0) as mother_id,
    first_value(named_struct(
      'text', v.born_text, 'at', v.born_at, 's', v.born_s, 'local_day', v.local_day, 'local_hour', v.local_hour,
      'is_weekend', v.is_weekend, 'clock_flag', v.clock_flag, 'day_s', v.born_day_s, 'local_month', v.local_month
    ) order by f.place) filter (where v.said is null or strpos(v.said, ',born_at,') > 0) as born,
    first_value(named_struct(
      'text', v.gestation_text, 'days', v.gestation_days, 'weeks', v.gestation_weeks, 'precision', v.gestation_precision
    ) order by f.place) filter (where v.said is null or strpos(v.said, ',gestation,') > 0) as gestation,
    first_value(v.birth_weight_g order by f.place) filter (where v.said is null or strpos(v.said, ',birth_weight_g,') > 0) as birth_weight_g,
    first_value(v.sex order by f.place) filter (where v.said is null or strpos(v.said, ',sex,') > 0) as sex,
    first_value(v.plurality order by f.place) filter (where v.said is null or strpos(v.said, ',plurality,') > 0) as plurality,
    first_value(v.birth_order order by f.place) filter (where v.said is null or strpos(v.said, ',birth_order,') > 0) as birth_order,
    first_value(v.unit order by f.place) filter (where v.said is null or strpos(v.said, ',unit,') > 0) as unit,
    first_value(v.feeding order by f.place) filter (where v.said is null or strpos(v.said, ',feeding,') > 0) as feeding,
    first_value(v.risk_factors order by f.place) filter (where v.said is null or strpos(v.said, ',risk_factors,') > 0) as risk_factors,
    first_value(v.skin_tone order by f.place) filter (where v.said is null or strpos(v.said, ',skin_tone,') > 0) as skin_tone,
    first_value(v.ethnicity order by f.place) filter (where v.said is null or strpos(v.said, ',ethnicity,') > 0) as ethnicity
  from versions v
  join fates f on f.load = v.load and f.seq = v.seq and f.fate in ('kept', 'superseded')
  left semi join in_parts p on p.stands_for = f.stands_for
  group by f.stands_for
),
standing as (
  select v.*, f.stands_for
  from versions v
  join fates f on f.load = v.load and f.seq = v.seq and f.fate = 'kept'
)
select
  s.stands_for as infant_id,
  case when t.stands_for is null then s.mother_id else t.mother_id end as mother_id,
  case when t.stands_for is null then s.born_text else get_field(t.born, 'text') end as born_text,
  case when t.stands_for is null then s.born_at else get_field(t.born, 'at') end as born_at,
  case when t.stands_for is null then s.born_s else get_field(t.born, 's') end as born_s,
  case when t.stands_for is null then s.local_day else get_field(t.born, 'local_day') end as local_day,
  case when t.stands_for is null then s.local_hour else get_field(t.born, 'local_hour') end as local_hour,
  case when t.stands_for is null then s.is_weekend else get_field(t.born, 'is_weekend') end as is_weekend,
  case when t.stands_for is null then s.clock_flag else get_field(t.born, 'clock_flag') end as clock_flag,
  case when t.stands_for is null then s.born_day_s else get_field(t.born, 'day_s') end as born_day_s,
  case when t.stands_for is null then s.gestation_text else get_field(t.gestation, 'text') end as gestation_text,
  case when t.stands_for is null then s.gestation_days else get_field(t.gestation, 'days') end as gestation_days,
  case when t.stands_for is null then s.gestation_weeks else get_field(t.gestation, 'weeks') end as gestation_weeks,
  case when t.stands_for is null then s.gestation_precision else get_field(t.gestation, 'precision') end as gestation_precision,
  case when t.stands_for is null then s.birth_weight_g else t.birth_weight_g end as birth_weight_g,
  case when t.stands_for is null then s.sex else t.sex end as sex,
  case when t.stands_for is null then s.plurality else t.plurality end as plurality,
  case when t.stands_for is null then s.birth_order else t.birth_order end as birth_order,
  case when t.stands_for is null then s.unit else t.unit end as unit,
  case when t.stands_for is null then s.feeding else t.feeding end as feeding,
  case when t.stands_for is null then s.risk_factors else t.risk_factors end as risk_factors,
  case when t.stands_for is null then s.skin_tone else t.skin_tone end as skin_tone,
  case when t.stands_for is null then s.ethnicity else t.ethnicity end as ethnicity,
  s.stands_for as row_id,
  s.stands_for as of_infant_id,
  case when t.stands_for is null then s.event_s else get_field(t.born, 's') end as event_s,
  case when t.stands_for is null then s.local_month else get_field(t.born, 'local_month') end as local_month,
  s.until_s, s.until_month, s.version_rank, s.version_s, s.record_status, s.recorded_s, s.said, s.row_hash,
  s.load, s.seq, s.file, s.line,
  coalesce(r.last_refused > s.load * 1000000000 + s.seq, false) as newer_version_set_aside,
  case when t.stands_for is null then s.local_month else get_field(t.born, 'local_month') end as month
from standing s
left join told t on t.stands_for = s.stands_for
left join refused r on r.row_id = s.row_id
