-- title: Rows set aside before
-- grain: one row per file and table with repeats of a row ever set aside, or of an earlier row of this load
-- reads: staged, versions
with numbered as (
  select s.file, s.table_name, s.reason, s.row_hash, row_number() over (partition by s.row_hash order by s.seq) as place
  from staged s
),
repeats as (
  select n.file, n.table_name
  from numbered n
  left semi join versions v on v.row_hash = n.row_hash
  union all
  select n.file, n.table_name
  from numbered n
  left anti join versions v on v.row_hash = n.row_hash
  where n.place > 1
)
select file, table_name, count(*) as n
from repeats
group by file, table_name
order by file, table_name
