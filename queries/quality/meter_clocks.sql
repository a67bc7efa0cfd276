-- title: The clock of a meter seems to be wrong
-- grain: one row per finding: one meter, month and sign of a wrong clock
-- reads: screens, versions_screens, held, births, quality_limits
-- level: warn
-- choices: Two signs. First: the time from reading to record (recorded_at) of a meter has a median
--   in the month that is further from that of the meters than the limit; the median over meters,
--   not readings, so that one busy meter does not decide it, and only with enough meters. A meter
--   emptied once a day looks the same as one with a wrong clock: the finding says check. Second:
--   readings dated before the birth, but not long before it, which is more likely another baby;
--   those set aside for it and those within the protocol's tolerance. Babies with a time of birth
--   only. Limits: common practice.
with lags as (
  select meter_id, local_month as month, recorded_s - event_s as lag_s
  from screens
  where meter_id is not null and recorded_s is not null
),
ranked_lags as (
  select
    meter_id, month, lag_s,
    row_number() over (partition by meter_id, month order by lag_s) as place,
    count(*) over (partition by meter_id, month) as n
  from lags
),
of_meters as (
  select meter_id, month, n, avg(lag_s) as lag_s
  from ranked_lags
  where 2 * place >= n and 2 * place <= n + 2
  group by meter_id, month, n
),
ranked_meters as (
  select
    m.meter_id, m.month, m.n, m.lag_s,
    row_number() over (partition by m.month order by m.lag_s, m.meter_id) as place,
    count(*) over (partition by m.month) as meters
  from of_meters m
  cross join quality_limits q
  where m.n >= q.clock_rows
),
of_months as (
  select month, meters, avg(lag_s) as lag_s
  from ranked_meters
  where 2 * place >= meters and 2 * place <= meters + 2
  group by month, meters
),
early as (
  select distinct v.meter_id, v.local_month as month, v.row_id, v.load, v.file, v.line, b.born_s - v.event_s as before_s
  from held h
  join versions_screens v on v.row_id = h.row_id and v.load = h.load and v.file = h.file and v.line = h.line
  join births b on b.infant_id = h.infant_id and b.born_s is not null
  where h.table_name = 'screens' and h.reason = 'before_birth'
  union all
  select s.meter_id, s.local_month, s.row_id, s.load, s.file, s.line, b.born_s - s.event_s
  from births b
  join screens s on s.infant_id = b.infant_id and s.event_s < b.born_s
),
findings as (
  select
    concat('meter ', m.meter_id) as about, m.month,
    concat(
      'readings reach the record ', cast(cast(round(abs(m.lag_s - a.lag_s) / 60) as bigint) as varchar), ' minutes ',
      case when m.lag_s > a.lag_s then 'later' else 'sooner' end, ' than those of the ', cast(a.meters as varchar),
      ' meters, by the median of ', cast(m.n as varchar), ' readings: check its clock'
    ) as found,
    m.n
  from ranked_meters m
  join of_months a on a.month = m.month
  cross join quality_limits q
  where a.meters >= q.clock_meters and abs(m.lag_s - a.lag_s) > q.clock_difference_s
  union all
  select
    concat('meter ', e.meter_id), e.month,
    concat(
      cast(count(*) as varchar), ' readings dated before the birth, by at most ',
      cast((max(e.before_s) + 59) / 60 as varchar), ' minutes: check its clock'
    ),
    count(*)
  from early e
  cross join quality_limits q
  where e.meter_id is not null and e.before_s <= q.before_birth_s
  group by e.meter_id, e.month, q.before_birth_rows
  having count(*) >= q.before_birth_rows
)
select about, month, found, cast(n as bigint) as n
from findings
order by about, month, found
