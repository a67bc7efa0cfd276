-- title: Keys of rows set aside, each with the id it would be a version of
-- grain: one row per row ever set aside whose id could be read
-- reads: row_keys, unsaid_results
-- choices: A row of serum that does not say what was measured is of the only other result of its
--   tube (unsaid_results).
select
  k.table_name, k.load, k.seq,
  case when not k.says_analyte then coalesce(u.only_row_id, k.row_id) else k.row_id end as version_of
from unsaid_results u
right join row_keys k on u.specimen_number = k.specimen_number
where k.is_aside and k.row_id is not null
