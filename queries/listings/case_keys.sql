-- title: The cases of a measure in a month, and the rows that were none
-- grain: one row per case or row
-- reads: cases, dropped_rows
select figure, kind, name, also, unit, infant_id, case_id, at_s
from cases
where measure = $measure and month = $month
union all
select figure, 'dropped', name, null, unit, infant_id, case_id, at_s
from dropped_rows
where measure = $measure
