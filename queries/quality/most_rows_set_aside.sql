-- title: Most rows of a file cannot be used: most likely a wrong mapping or unit of measure
-- grain: one row per finding: one file of the newest load and one table
-- reads: ledger, unmapped_codes, set_aside, held, quality_limits
-- level: stop
-- choices: Rows loaded before do not count: an extract that repeats old rows must not hide that all
--   new ones fail. A test too long before the birth counts as set aside, as in the ledger. Of
--   reasons met equally often the first in the alphabet is named. A file is named with its last
--   folder. Fewest rows and share: common practice.
with newest as (
  select max(load) as load
  from (
    select load from ledger
    union all
    select load from unmapped_codes
  )
),
files as (
  select l.file, l.table_name, sum(l.rows_in - l.duplicate) as new_rows, sum(l.set_aside) as set_aside
  from ledger l
  join newest w on w.load = l.load
  group by l.file, l.table_name
),
reasons as (
  select file, table_name, reason, count(*) as n
  from (
    select a.file, a.table_name, a.reason, a.load from set_aside a
    union all
    select h.file, h.table_name, h.reason, h.load from held h where h.reason = 'before_birth'
  ) r
  join newest w on w.load = r.load
  group by file, table_name, reason
),
ranked as (
  select *, row_number() over (partition by file, table_name order by n desc, reason) as place
  from reasons
)
select
  concat(
    f.table_name, ', file ',
    case
      when strpos(f.file, '/') > 0 then concat(split_part(f.file, '/', -2), '/', split_part(f.file, '/', -1))
      else f.file
    end
  ) as about,
  cast(null as varchar) as month,
  concat(
    cast(f.set_aside as varchar), ' of ', cast(f.new_rows as varchar), ' new rows set aside; most often ',
    coalesce(r.reason, 'unknown'), ', ', cast(coalesce(r.n, 0) as varchar), ' times'
  ) as found,
  cast(f.set_aside as bigint) as n
from files f
left join ranked r on r.file = f.file and r.table_name = f.table_name and r.place = 1
cross join quality_limits q
where f.set_aside >= q.stop_rows and f.set_aside * 100 >= f.new_rows * q.stop_percent
order by about, f.file
