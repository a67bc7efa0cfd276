-- title: Not one row of a file could be taken
-- grain: one row per finding: one file of the newest load
-- reads: ledger, unmapped_codes, quality_limits
-- level: stop
-- choices: A file counts over all its tables, and rows that could not be read as a record of any.
--   A row that was loaded before, waits, is withdrawn or gave way to a later version was taken.
--   A file is named with its last folder. Fewest rows: common practice, as a small file may hold one
--   fault only.
with newest as (
  select max(load) as load
  from (
    select load from ledger
    union all
    select load from unmapped_codes
  )
),
files as (
  select l.file, sum(l.rows_in) as rows_in, sum(l.set_aside) as set_aside
  from ledger l
  join newest w on w.load = l.load
  group by l.file
)
select
  case
    when strpos(f.file, '/') > 0 then concat(split_part(f.file, '/', -2), '/', split_part(f.file, '/', -1))
    else f.file
  end as about,
  cast(null as varchar) as month,
  concat('all ', cast(f.rows_in as varchar), ' rows set aside') as found,
  cast(f.rows_in as bigint) as n
from files f
cross join quality_limits q
where f.rows_in >= q.nothing_rows and f.set_aside = f.rows_in
order by f.file
