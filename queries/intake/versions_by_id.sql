-- title: All versions, each with the id it stands for
-- grain: one row per version
-- reads: versions, identities
-- choices: A birth merged into another goes with that one, as in what became of each row.
select
  v.*,
  case when $is_register = 'yes' then coalesce(i.infant_id, v.row_id) else v.row_id end as stands_for
from versions v
left join identities i on i.from_infant_id = v.of_infant_id
