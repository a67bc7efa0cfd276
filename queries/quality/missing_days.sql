-- title: Days without any row in a table that has rows every day
-- grain: one row per finding: one table and month
-- reads: births, screens, serum, stays, data_ends, local_offsets, quality_limits
-- level: warn
-- choices: A table is expected to have rows every day of a month when the median of its days that
--   have any is at least the limit; a month with half its days missing is still found. Days before
--   the first row and days not over at the table's data end do not count. Local days. n counts days.
--   Limit: common practice.
with dated as (
  select 'births' as table_name, local_day from births
  union all
  select 'screens', local_day from screens
  union all
  select 'serum', local_day from serum
  union all
  select 'stays', local_day from stays
),
daily as (
  select table_name, cast(cast(local_day as int) as bigint) as day_no, count(*) as n
  from dated
  where local_day is not null
  group by table_name, local_day
),
ends as (
  select d.table_name, (d.through_s + o.offset_s) / 86400 as end_day_no
  from data_ends d
  join local_offsets o on d.through_s >= o.from_s and d.through_s < o.to_s
),
firsts as (
  select table_name, min(day_no) as first_day_no from daily group by table_name
),
counted as (
  select
    d.table_name, d.day_no, d.n, f.first_day_no, e.end_day_no,
    to_char(cast(cast(d.day_no as int) as date), '%Y-%m') as month
  from daily d
  join firsts f on f.table_name = d.table_name
  join ends e on e.table_name = d.table_name
  where d.day_no < e.end_day_no
),
ranked as (
  select
    table_name, month, day_no, n, first_day_no, end_day_no,
    row_number() over (partition by table_name, month order by n, day_no) as place,
    count(*) over (partition by table_name, month) as days
  from counted
),
usual as (
  select table_name, month, first_day_no, end_day_no, avg(n) as median_n
  from ranked
  where 2 * place >= days and 2 * place <= days + 2
  group by table_name, month, first_day_no, end_day_no
),
places as (
  select 10 * t.tens + u.ones as place
  from (values (0), (1), (2), (3)) as t (tens)
  cross join (values (0), (1), (2), (3), (4), (5), (6), (7), (8), (9)) as u (ones)
),
expected as (
  select u.table_name, u.month, u.median_n, u.first_day_no, u.end_day_no, m.start_no + p.place as day_no
  from usual u
  join (
    select distinct month, cast(cast(cast(concat(month, '-01') as date) as int) as bigint) as start_no from usual
  ) m on m.month = u.month
  cross join places p
  cross join quality_limits q
  where u.median_n >= q.daily_rows
),
missing as (
  select e.table_name, e.month, e.median_n, e.day_no
  from expected e
  left anti join daily d on d.table_name = e.table_name and d.day_no = e.day_no
  where e.day_no >= e.first_day_no and e.day_no < e.end_day_no
    and to_char(cast(cast(e.day_no as int) as date), '%Y-%m') = e.month
)
select
  table_name as about, month,
  concat(
    cast(count(*) as varchar), case when count(*) = 1 then ' day' else ' days' end, ' without a row, the first ',
    cast(cast(cast(min(day_no) as int) as date) as varchar), '; usual are ',
    cast(cast(round(median_n) as bigint) as varchar), ' a day'
  ) as found,
  cast(count(*) as bigint) as n
from missing
group by table_name, month, median_n
order by about, month
