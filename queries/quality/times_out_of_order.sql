-- title: Times stand in an order that cannot be
-- grain: one row per finding: one table, unit, month and kind of disorder
-- reads: serum, stays, phototherapy, screens, births, set_aside, mended, quality_limits
-- level: warn
-- choices: A result before its collection; a discharge before its admission and a stop before its
--   start, of rows told in parts or set aside for it (those by file, as their month is not kept, and
--   not once mended); tests and phototherapy after the baby died, beyond a tolerance, as a death is
--   often charted late; stays with an admission well before the birth, a birth known by day counting from
--   the start of that day. A file is named with its last folder. Tolerances: common practice.
with deaths as (
  select infant_id, min(discharged_s) as died_s
  from stays
  where disposition = 'died' and discharged_s is not null
  group by infant_id
),
events as (
  select 'screens' as table_name, infant_id, unit, local_month as month, event_s from screens
  union all
  select 'serum', infant_id, unit, local_month, event_s from serum
  union all
  select 'phototherapy', infant_id, unit, local_month, event_s from phototherapy
),
live as (
  select 'serum' as table_name, unit, local_month as month, 'with a result before the collection' as what
  from serum
  where resulted_s < collected_s
  union all
  select 'stays', unit, local_month, 'with a discharge before the admission'
  from stays
  where discharged_s < admitted_s
  union all
  select 'phototherapy', unit, local_month, 'with a stop before the start'
  from phototherapy
  where stopped_s < started_s
  union all
  select e.table_name, e.unit, e.month, 'after the baby had died'
  from deaths d
  join events e on e.infant_id = d.infant_id
  cross join quality_limits q
  where e.event_s > d.died_s + q.after_death_s
  union all
  select 'stays', s.unit, s.local_month, 'with an admission well before the birth'
  from births b
  join stays s on s.infant_id = b.infant_id
  cross join quality_limits q
  where s.admitted_s < coalesce(b.born_s, b.born_day_s) - q.stay_before_birth_s
),
aside as (
  select
    a.table_name, a.file,
    case a.reason
      when 'stop_before_start' then 'set aside for a stop before the start'
      else 'set aside for a discharge before the admission'
    end as what
  from set_aside a
  left anti join mended m on m.set_aside_load = a.load and m.set_aside_seq = a.seq
  where a.reason in ('stop_before_start', 'discharge_before_admission')
),
told as (
  select concat(table_name, ', unit ', coalesce(unit, 'unknown')) as about, month, what, '' as file
  from live
  union all
  select
    concat(
      table_name, ', file ',
      case
        when strpos(file, '/') > 0 then concat(split_part(file, '/', -2), '/', split_part(file, '/', -1))
        else file
      end
    ),
    cast(null as varchar), what, file
  from aside
)
select
  about, month,
  concat(cast(count(*) as varchar), case when count(*) = 1 then ' row ' else ' rows ' end, what) as found,
  cast(count(*) as bigint) as n
from told
group by about, month, what, file
order by about, month nulls last, what, file
