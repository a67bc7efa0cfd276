-- title: Rows that are in no table: set aside or held
-- grain: one row per such row of the loads asked for
-- reads: set_aside, mended, held, births, screens, serum, phototherapy, stays, exchanges, meter_checks, merges
-- choices: Rows set aside come first, as they wait for somebody; held rows wait for another record.
--   A row set aside is listed until it was read again and taken in, or a later row of its id stands.
with standing as (
  select 'births' as table_name, row_id, load, seq from births
  union all
  select 'screens' as table_name, row_id, load, seq from screens
  union all
  select 'serum' as table_name, row_id, load, seq from serum
  union all
  select 'phototherapy' as table_name, row_id, load, seq from phototherapy
  union all
  select 'stays' as table_name, row_id, load, seq from stays
  union all
  select 'exchanges' as table_name, row_id, load, seq from exchanges
  union all
  select 'meter_checks' as table_name, row_id, load, seq from meter_checks
  union all
  select 'merges' as table_name, row_id, load, seq from merges
),
still_aside as (
  select s.*
  from set_aside s
  left anti join mended m on m.set_aside_load = s.load and m.set_aside_seq = s.seq
),
replaced as (
  select s.load, s.seq
  from still_aside s
  join standing t on t.table_name = s.table_name and t.row_id = s.row_id
  where t.load * 1000000000 + t.seq > s.load * 1000000000 + s.seq
),
waiting as (
  select s.load, s.file, s.line, s.table_name, s.column_name, s.cell, s.reason, s.remedy
  from still_aside s
  left anti join replaced r on r.load = s.load and r.seq = s.seq
  union all
  select load, file, line, table_name, '' as column_name, '' as cell, reason, remedy from held
)
select * from waiting
where load >= $first_load
order by
  case when reason in ('unknown_baby', 'incomplete', 'absent_reference') then 1 else 0 end,
  load, file, line, table_name, reason, column_name
