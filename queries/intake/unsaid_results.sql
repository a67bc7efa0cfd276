-- title: Specimens with a row that does not say what was measured
-- grain: one row per specimen number that ever had such a row
-- reads: row_keys
-- choices: Such a row (its analyte is empty, or no word of the contract) is of the only other
--   result of its tube: the only one that any row of it says, accepted or set aside (only_row_id).
--   Where no row says one, or rows say several (has_several), it stands alone. last_load: the last
--   load with any row of the tube, as a new result may change whose versions the others are.
with unsaid as (
  select distinct specimen_number
  from row_keys
  where not says_analyte
),
counted as (
  select
    u.specimen_number, count(distinct case when k.says_analyte then k.row_id end) as results,
    min(case when k.says_analyte then k.row_id end) as first_row_id, max(k.load) as last_load
  from unsaid u
  join row_keys k on k.specimen_number = u.specimen_number
  group by u.specimen_number
)
select
  specimen_number, case when results = 1 then first_row_id end as only_row_id, results > 1 as has_several, last_load
from counted
