-- title: What became of the rows of each load
-- grain: one row per load and table
-- reads: ledger
select
  load, table_name, max(loaded_at_s) as loaded_at_s, count(*) as files,
  sum(rows_in) as rows_in, sum(kept) as kept, sum(superseded) as superseded, sum(duplicate) as duplicate,
  sum(withdrawn) as withdrawn, sum(held) as held, sum(set_aside) as set_aside
from ledger
group by load, table_name
order by load, table_name
