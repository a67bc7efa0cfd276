-- title: Meter checks
-- what: Days on which a meter took a reading, and whether each of its readings came after a check
--   that the meter had passed and that still held; and the readings without such a check.
-- grain: one row per meter-day, and per reading
-- reads: judged_screens, set_aside, screens, versions_screens, meter_checks, known_until, protocol_limits
-- needs: screens, meter_checks
-- kind: proportion
-- outcomes: good, failed, unchecked
-- figures: meter_checks = good / good + failed + unchecked;
--   unverified_readings = unverified / verified + unverified
-- labels: meter_checks = Meter-days with every reading after a passed check;
--   unverified_readings = Readings without a passed check
-- quantity: share
-- cases: meter-days; unverified_readings readings
-- looks back: of a reading, to the meter's last check, however old
-- choices: A reading is verified when the meter's last check at or before it passed and still held:
--   it was taken no longer before than the protocol says, or on the same local day where the
--   protocol gives no hours. A check of the same second as the reading counts; of several checks of
--   one second, the last by id. A meter-day is a meter and a local day. It is good when all its
--   readings are verified; failed when the last check before any of them, however old, had failed;
--   unchecked otherwise. A reading set aside for its value or its unit of measure was taken all the
--   same, and counts where its meter and time could be read, unless a row of its id stands or
--   withdraws it; of several such rows of an id the last. The unit of a meter-day is that of its
--   first reading, by time, then id. Readings after data end do not exist yet.
-- left out: of the readings: those without a meter; they make no meter-day
-- clusters: none; unverified_readings meter-days
-- better: higher; unverified_readings lower
-- direction: meter checks: higher is better; unverified readings: lower is better
-- chart: proportion by month
-- source: common practice: a meter is checked at least once daily, and not used after it has failed
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
    s.infant_id, s.screen_id, s.meter_id, s.unit, s.measured_s as at_s, s.local_day, s.month
  from judged_screens s
  cross join known_until u
  where s.known_from_s <= u.meters_s and ($months = '' or strpos($months, s.month) > 0)
  union all
  select
    cast(null as varchar), r.screen_id, r.meter_id, coalesce(r.unit, 'unknown'), r.event_s, r.local_day, r.local_month
  from refused r
  cross join known_until u
  left anti join screens s on s.screen_id = r.screen_id
  left anti join versions_screens v on v.row_id = r.screen_id and v.record_status = 'withdrawn'
  where r.place = 1 and r.reason in ('missing_unit', 'unknown_unit', 'implausible_value') and r.event_s <= u.meters_s
    and ($months = '' or strpos($months, r.local_month) > 0)
),
checks as (
  select
    meter_id, checked_s, local_day, outcome,
    row_number() over (partition by meter_id order by checked_s, check_id) as check_no
  from meter_checks
  where meter_id is not null
),
-- Each reading with the number of the meter's last check at or before it.
after_checks as (
  select
    infant_id, screen_id, meter_id, unit, at_s, local_day, month,
    max(check_no) over (
      partition by meter_id order by at_s range between unbounded preceding and current row
    ) as check_no
  from (
    select infant_id, screen_id, meter_id, unit, at_s, local_day, month, cast(null as bigint) as check_no
    from taken
    union all
    select null, null, meter_id, null, checked_s, null, null, cast(check_no as bigint)
    from checks
  ) readings_and_checks
),
judged as (
  select
    r.infant_id, r.screen_id, r.meter_id, r.unit, r.at_s, r.local_day, r.month,
    coalesce(c.outcome = 'pass', false)
      and coalesce(r.at_s - c.checked_s <= l.check_holds_s, c.local_day = r.local_day) as is_verified,
    coalesce(c.outcome = 'fail', false) as has_failed,
    row_number() over (partition by r.meter_id, r.local_day order by r.at_s, r.screen_id) as place
  from after_checks r
  join protocol_limits l on r.at_s >= l.from_s and r.at_s < l.to_s
  left join checks c on c.meter_id = r.meter_id and c.check_no = r.check_no
  where r.screen_id is not null
),
days as (
  select
    meter_id, local_day, month, min(at_s) as first_s, max(case when place = 1 then unit end) as unit,
    case when bool_and(is_verified) then 'good' when bool_or(has_failed) then 'failed' else 'unchecked' end as name
  from judged
  where meter_id is not null
  group by meter_id, local_day, month
)
select
  'meter_checks' as figure, month, unit, cast(null as varchar) as infant_id,
  concat(meter_id, ' ', cast(local_day as varchar)) as case_id, cast(null as varchar) as cluster_id,
  first_s as at_s, 'outcome' as kind, name
from days
union all
select
  'unverified_readings', month, unit, infant_id, screen_id, meter_id || ' ' || cast(local_day as varchar), at_s,
  case when meter_id is null then 'left_out' else 'outcome' end,
  case when meter_id is null then 'meter_unknown' when is_verified then 'verified' else 'unverified' end
from judged
