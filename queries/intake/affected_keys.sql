-- title: Keys of the ids of which something may have changed
-- grain: one row per version of these
-- reads: standing_keys, affected_ids
select s.*
from standing_keys s
left semi join affected_ids a on a.stands_for = s.stands_for and a.table_name = s.table_name
