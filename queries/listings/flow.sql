-- title: Cases of a measure, with those that were no case of it
-- grain: one row per figure, kind and name
-- reads: cases
-- choices: Of one unit, or of all where $unit is empty.
select figure, kind, name, count(*) as n
from cases
where kind <> 'provisional' and ($unit = '' or unit = $unit)
group by figure, kind, name
order by figure, kind, name
