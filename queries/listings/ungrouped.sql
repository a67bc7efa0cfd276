-- title: Cases of a measure, all in one group
-- grain: one row per case
-- reads: cases
select *, 'all' as split, 'all' as group_name
from cases
