-- title: Keys of accepted rows, each with the id it stands for
-- grain: one row per version ever accepted into the tables of this step
-- reads: row_keys, identities, tables_of_step
-- choices: Rows of a baby merged into another are rows of that one; so is its birth.
with of_step as (
  select k.*
  from tables_of_step t
  right semi join row_keys k on k.table_name = t.table_name
  where not k.is_aside
)
select
  k.*,
  coalesce(i.infant_id, k.of_infant_id) as baby_id,
  case when k.table_name = 'births' then coalesce(i.infant_id, k.row_id) else k.row_id end as stands_for,
  k.table_name = 'births' and i.infant_id is not null as is_merged_in
from identities i
right join of_step k on i.from_infant_id = k.of_infant_id
