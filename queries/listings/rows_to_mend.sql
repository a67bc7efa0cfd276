-- title: Rows that are in no table: set aside or held
-- grain: one row per such row of the loads asked for
-- reads: set_aside, mended, held, row_keys, births, screens, serum, phototherapy, stays, exchanges, meter_checks, merges
-- choices: Rows set aside come first, as they wait for somebody; held rows wait for another record.
--   A row set aside is listed until it was read again and taken in, or a later row of its id stands;
--   of serum that does not say what was measured, until a later row of the only result of its specimen
--   stands (intake/unsaid_results.sql).
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
unsaid as (
  select k.load, k.seq, k.specimen_number
  from still_aside s
  join row_keys k on k.load = s.load and k.seq = s.seq
  where not k.says_analyte
),
only_others as (
  select u.load, u.seq, min(k.row_id) as row_id
  from unsaid u
  join row_keys k on k.specimen_number = u.specimen_number
  where k.says_analyte
  group by u.load, u.seq
  having count(distinct k.row_id) = 1
),
of_ids as (
  select s.load, s.seq, s.table_name, coalesce(o.row_id, s.row_id) as row_id
  from still_aside s
  left join only_others o on o.load = s.load and o.seq = s.seq
),
replaced as (
  select s.load, s.seq
  from of_ids s
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
