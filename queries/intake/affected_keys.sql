-- title: Keys of the ids of which something may have changed
-- grain: one row per version of these
-- reads: standing_keys, affected_ids
select s.*
from affected_ids a
right semi join standing_keys s on s.stands_for = a.stands_for and s.table_name = a.table_name
