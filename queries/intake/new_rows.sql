-- title: Rows not loaded before
-- grain: one row per accepted row of this load that no earlier row repeats
-- reads: staged, versions
-- choices: An exact duplicate has the same cells in the same table as any row ever accepted. Of
--   repeats within a load the first stays. The same query finds new rows among those set aside.
with firsts as (
  select row_hash, min(seq) as seq
  from staged
  group by row_hash
),
new as (
  select f.seq
  from firsts f
  left anti join versions v on v.row_hash = f.row_hash
)
select s.*
from new n
right semi join staged s on s.seq = n.seq
order by s.seq
