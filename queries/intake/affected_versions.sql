-- title: All versions of the ids of which something has changed
-- grain: one row per version
-- reads: versions, identities, affected
select v.*
from versions v
left join identities i on i.from_infant_id = v.of_infant_id
left semi join affected a
  on a.row_id = case when $is_register = 'yes' then coalesce(i.infant_id, v.row_id) else v.row_id end
order by v.load, v.seq
