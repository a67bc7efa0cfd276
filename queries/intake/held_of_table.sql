-- title: Rows of one table that wait
-- grain: one row per row that waits
-- reads: held
select * from held
order by load, file, line, row_id
