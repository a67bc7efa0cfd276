-- title: Meter checks
-- what: Days on which a meter took a reading, and whether its last check of that day before the first
--   reading had passed; and the readings taken on days without that.
-- grain: one row per meter-day, and per reading
-- reads: judged_screens, set_aside, screens, versions_screens, meter_checks, known_until
-- needs: screens, meter_checks
-- kind: proportion
-- outcomes: good, failed, unchecked
-- figures: meter_checks = good / good + failed + unchecked;
--   unverified_readings = unverified / verified + unverified
-- labels: meter_checks = Meter-days with a passing check first; unverified_readings = Readings on other days
-- quantity: share
-- cases: meter-days; unverified_readings readings
-- choices: A meter-day is a meter and a local day. A reading set aside for its value or its unit of
--   measure was taken all the same, and counts where its meter and time could be read, unless a
--   row of its id stands or withdraws it; of several such rows of an id the last. The unit of a
--   meter-day is that of its first reading, by time, then id. Checks and readings after data end
--   do not exist yet.
-- left out: of the readings: those without a meter; they make no meter-day
-- clusters: none; unverified_readings meter-days
-- better: higher; unverified_readings lower
-- direction: meter checks: higher is better; unverified readings: lower is better
-- chart: proportion by month
-- source: common practice: a passing check at least once daily before the first reading
with refused as (
  select
    row_id as screen_id, meter_id, unit, event_s, local_day, local_month, reason,
    row_number() over (partition by row_id order by load desc, seq desc) as place
  from set_aside
  where table_name = 'screens' and row_id is not null
),
-- $months names months, with spaces between, and is empty for all.
taken as (
  select
    s.infant_id, s.screen_id, s.meter_id, s.unit, s.measured_s as at_s, s.local_day, s.month, u.meters_s
  from judged_screens s
  cross join known_until u
  where s.known_from_s <= u.meters_s and ($months = '' or strpos($months, s.month) > 0)
  union all
  select
    cast(null as varchar), r.screen_id, r.meter_id, coalesce(r.unit, 'unknown'), r.event_s, r.local_day, r.local_month,
    u.meters_s
  from refused r
  cross join known_until u
  left anti join screens s on s.screen_id = r.screen_id
  left anti join versions_screens v on v.row_id = r.screen_id and v.record_status = 'withdrawn'
  where r.place = 1 and r.reason in ('missing_unit', 'unknown_unit', 'implausible_value') and r.event_s <= u.meters_s
    and ($months = '' or strpos($months, r.local_month) > 0)
),
days as (
  select
    meter_id, local_day, unit, month, at_s as first_s, meters_s,
    row_number() over (partition by meter_id, local_day order by at_s, screen_id) as place
  from taken
  where meter_id is not null
),
checked as (
  select
    d.meter_id, d.local_day, d.unit, d.month, d.first_s, c.outcome,
    row_number() over (
      partition by d.meter_id, d.local_day order by c.checked_s desc nulls last, c.check_id desc nulls last
    ) as place
  from days d
  left join meter_checks c
    on c.meter_id = d.meter_id and c.local_day = d.local_day and c.checked_s < d.first_s and c.checked_s <= d.meters_s
  where d.place = 1
),
judged_days as (
  select
    meter_id, local_day, unit, month, first_s,
    case when outcome = 'pass' then 'good' when outcome = 'fail' then 'failed' else 'unchecked' end as name
  from checked
  where place = 1
),
cases as (
  select
    'meter_checks' as figure, month, unit, cast(null as varchar) as infant_id,
    concat(meter_id, ' ', cast(local_day as varchar)) as case_id, cast(null as varchar) as cluster_id,
    first_s as at_s, 'outcome' as kind, name
  from judged_days
  union all
  select
    'unverified_readings', r.month, r.unit, r.infant_id, r.screen_id,
    r.meter_id || ' ' || cast(r.local_day as varchar), r.at_s,
    case when r.meter_id is null then 'left_out' else 'outcome' end,
    case when r.meter_id is null then 'meter_unknown' when d.name = 'good' then 'verified' else 'unverified' end
  from judged_days d
  right join taken r on r.meter_id = d.meter_id and r.local_day = d.local_day
)
select figure, month, unit, infant_id, case_id, cluster_id, at_s, kind, name
from cases
