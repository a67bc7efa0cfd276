-- title: How many rows of a month were no case, by measure and reason
-- grain: one row per measure, figure and reason
-- reads: dropped_rows
-- choices: Of one unit, or of all where $unit is empty.
select measure, figure, name, count(*) as n
from dropped_rows
where $unit = '' or unit = $unit
group by measure, figure, name
order by measure, figure, name
