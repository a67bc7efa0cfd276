-- title: The values of a unit or meter have jumped by about 17 times, as if their unit of measure had changed
-- grain: one row per finding: one table, unit or meter, and month
-- reads: judged_screens, judged_serum, screens, quality_limits
-- level: warn
-- choices: 17.1 is the factor between mg/dL and umol/L. The median of the month in umol/L is set
--   against the median of all earlier months together, so a lasting jump is told each month until
--   most of the earlier values have it too. All units of measure are taken together: a true change
--   from one to the other leaves the values in umol/L where they were. Only values that passed as
--   plausible are seen here; a batch of umol/L called mg/dL is mostly set aside. Exact values only,
--   no bounds; of serum only valid ones, as direct bilirubin is lower by nature. A median of an even
--   number is the mean of the middle two. The median of the earlier months together lies between
--   the lowest and the highest of theirs, so only months that differ enough from one of these
--   are looked at further. Fewest rows: common practice.
-- source: 1 mg/dL is 17.1 umol/L (customary factor)
with valued as (
  select 'screens' as table_name, concat('screens, unit ', unit) as about, month, value_micro
  from judged_screens
  where bound is null and value_micro is not null
  union all
  select 'screens', concat('screens, meter ', meter_id), local_month, value_micro
  from screens
  where bound is null and value_micro is not null and meter_id is not null
  union all
  select 'serum', concat('serum, unit ', unit), month, value_micro
  from judged_serum
  where is_valid and bound is null
),
counted as (
  select about, month, value_micro, count(*) as n
  from valued
  group by about, month, value_micro
),
ranked as (
  select
    about, month, value_micro,
    sum(n) over (partition by about, month order by value_micro) as n_up_to,
    sum(n) over (partition by about, month) as n_all
  from counted
),
of_months as (
  select
    about, month,
    min(case when 2 * n_up_to >= n_all then value_micro end) as low_micro,
    min(case when 2 * n_up_to > n_all then value_micro end) as high_micro
  from ranked
  group by about, month
),
earlier as (
  select
    about, month, low_micro + high_micro as twice_micro,
    min(low_micro) over (partition by about order by month rows between unbounded preceding and 1 preceding) as lowest_micro,
    max(high_micro) over (partition by about order by month rows between unbounded preceding and 1 preceding) as highest_micro
  from of_months
),
candidates as (
  select e.about, e.month
  from earlier e
  cross join quality_limits q
  where e.twice_micro * 100 >= 2 * e.lowest_micro * q.shift_at_least_percent
    or 2 * e.highest_micro * 100 >= e.twice_micro * q.shift_at_least_percent
),
spans as (
  select c.about, c.month, 'month' as span, v.value_micro, v.n
  from candidates c
  join counted v on v.about = c.about and v.month = c.month
  union all
  select c.about, c.month, 'earlier', v.value_micro, sum(v.n)
  from candidates c
  join counted v on v.about = c.about and v.month < c.month
  group by c.about, c.month, v.value_micro
),
running as (
  select
    about, month, span, value_micro,
    sum(n) over (partition by about, month, span order by value_micro) as n_up_to,
    sum(n) over (partition by about, month, span) as n_all
  from spans
),
medians as (
  select
    about, month, span, max(n_all) as n,
    min(case when 2 * n_up_to >= n_all then value_micro end)
      + min(case when 2 * n_up_to > n_all then value_micro end) as twice_micro
  from running
  group by about, month, span
),
compared as (
  select
    m.about, m.month, m.n, m.twice_micro, e.twice_micro as earlier_twice_micro, e.n as earlier_n,
    greatest(m.twice_micro, e.twice_micro) as high_micro, least(m.twice_micro, e.twice_micro) as low_micro
  from medians m
  join medians e on e.about = m.about and e.month = m.month and e.span = 'earlier'
  where m.span = 'month'
)
select
  c.about, c.month,
  concat(
    'median ', cast(round(c.twice_micro / 2e6, 1) as varchar), ' umol/L in ', cast(c.n as varchar),
    ' values; in the earlier months ', cast(round(c.earlier_twice_micro / 2e6, 1) as varchar),
    ': ', cast(round(c.high_micro * 1.0 / c.low_micro, 1) as varchar), ' times ',
    case when c.twice_micro > c.earlier_twice_micro then 'higher' else 'lower' end
  ) as found,
  cast(c.n as bigint) as n
from compared c
cross join quality_limits q
where c.low_micro > 0 and c.n >= q.shift_rows and c.earlier_n >= q.shift_rows
  and c.high_micro * 100 >= c.low_micro * q.shift_at_least_percent
  and c.high_micro * 100 <= c.low_micro * q.shift_at_most_percent
order by about, month
