-- title: Keys of accepted rows, each with the id it stands for
-- grain: one row per version ever accepted into the tables of this step
-- reads: row_keys, unsaid_results, identities, tables_of_step
-- choices: Rows of a baby merged into another are rows of that one; so is its birth. version_of is
--   the row's own id; that of a row of serum which does not say what was measured (a withdrawal) is
--   the only other result of its tube. is_which_unclear: there are several, so it withdraws none.
--   specimen_load: the last load with a row of a tube that has such a row.
with of_step as (
  select k.*
  from tables_of_step t
  right semi join row_keys k on k.table_name = t.table_name
  where not k.is_aside
),
of_specimens as (
  select
    k.*, u.last_load as specimen_load, not coalesce(k.says_analyte, true) and coalesce(u.has_several, false) as is_which_unclear,
    case when not k.says_analyte then coalesce(u.only_row_id, k.row_id) else k.row_id end as version_of
  from unsaid_results u
  right join of_step k on u.specimen_number = k.specimen_number
)
select
  k.*,
  coalesce(i.infant_id, k.of_infant_id) as baby_id,
  case when k.table_name = 'births' then coalesce(i.infant_id, k.row_id) else k.version_of end as stands_for,
  k.table_name = 'births' and i.infant_id is not null as is_merged_in
from identities i
right join of_specimens k on i.from_infant_id = k.of_infant_id
