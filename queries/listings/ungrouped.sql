-- title: Cases of some months, all in one group
-- grain: one row per case
-- reads: cases
-- choices: $months names the months, with spaces between.
select *, 'all' as split, 'all' as group_name
from cases
where strpos($months, month) > 0
