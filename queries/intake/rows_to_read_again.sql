-- title: Rows set aside that may be taken in now
-- grain: one row per row set aside and not mended
-- reads: set_aside, mended
-- choices: Rows that wait for what they refer to are read again at each load; all others when
--   asked to.
select s.load, s.seq, s.table_name, s.row_id, s.reason, s.file, s.line, s.form, s.header_text, s.row_text
from set_aside s
left anti join mended m on m.set_aside_load = s.load and m.set_aside_seq = s.seq
where $all or s.reason = 'absent_reference'
order by s.load, s.seq
