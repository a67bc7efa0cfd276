-- title: Which baby was merged into which
-- grain: one row per id that does not stand for itself
-- reads: merges
select from_infant_id, into_infant_id
from merges
order by from_infant_id
