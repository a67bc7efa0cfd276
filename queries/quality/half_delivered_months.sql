-- title: A month has far fewer rows than the months around it, as if only part had been delivered
-- grain: one row per finding: one table and month
-- reads: table_months, data_ends, local_offsets, quality_limits
-- level: warn
-- choices: A month is set against the median of the table's other full months within a year before
--   and after it. The table's first month is often cut by the start of the extract and the last by
--   data end: they are neither judged nor compared with. A month in between without any row counts
--   as none delivered. Too few months, or a median too small to tell, are passed over.
--   Limits: common practice.
with ends as (
  select
    d.table_name, to_char(cast(cast((d.through_s + o.offset_s) / 86400 as int) as date), '%Y-%m') as end_month
  from data_ends d
  join local_offsets o on d.through_s >= o.from_s and d.through_s < o.to_s
),
firsts as (
  select table_name, min(month) as first_month from table_months group by table_name
),
months as (
  select distinct month, cast(substr(month, 1, 4) as bigint) * 12 + cast(substr(month, 6, 2) as bigint) as month_no
  from table_months
),
full_months as (
  select f.table_name, m.month, m.month_no, coalesce(t.n, 0) as n
  from firsts f
  join ends e on e.table_name = f.table_name
  join months m on m.month > f.first_month and m.month < e.end_month
  left join table_months t on t.table_name = f.table_name and t.month = m.month
),
others as (
  select
    a.table_name, a.month, a.n, o.n as other_n,
    row_number() over (partition by a.table_name, a.month order by o.n, o.month) as place,
    count(*) over (partition by a.table_name, a.month) as months
  from full_months a
  cross join quality_limits q
  join full_months o
    on o.table_name = a.table_name and o.month <> a.month
    and o.month_no >= a.month_no - q.month_span and o.month_no <= a.month_no + q.month_span
),
usual as (
  select table_name, month, n, months, avg(other_n) as median_n
  from others
  where 2 * place >= months and 2 * place <= months + 2
  group by table_name, month, n, months
)
select
  u.table_name as about, u.month,
  concat(
    cast(u.n as varchar), ' rows; the median of ', cast(u.months as varchar), ' other months is ',
    cast(cast(round(u.median_n) as bigint) as varchar)
  ) as found,
  cast(u.n as bigint) as n
from usual u
cross join quality_limits q
where u.months >= q.month_others and u.median_n >= q.month_rows and u.n * 100 < u.median_n * q.month_percent
order by about, month
