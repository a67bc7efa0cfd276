-- title: Rows in are the sum of their fates
-- grain: one row per ledger line that does not balance
-- reads: ledger
select load, file, rows_in, kept + superseded + duplicate + withdrawn + held + set_aside as accounted
from ledger
where rows_in <> kept + superseded + duplicate + withdrawn + held + set_aside
order by load, file
