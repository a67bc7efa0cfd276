-- title: The keys behind each count of a measure
-- grain: one row per case
-- reads: cases
select figure, kind, name, unit, infant_id, case_id, at_s
from cases
where kind <> 'provisional'
order by figure, kind, name, unit, infant_id, case_id, at_s
