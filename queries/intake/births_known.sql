-- title: The birth register, as far as what becomes of other rows depends on it
-- grain: one row per baby
-- reads: birth_fates, births_before, affected_births
-- choices: Of babies whose birth was looked at in this load what their rows say now, of all others
--   what the register said before. A record that tells only part leaves the moment of birth as the
--   rows before it told it.
with looked_at as (
  select
    stands_for as infant_id,
    first_value(named_struct('s', born_s, 'day_s', born_day_s) order by place) filter (where says_birth) as born,
    max(case when fate = 'kept' then 1 end) as is_kept
  from birth_fates
  where fate in ('kept', 'superseded')
  group by stands_for
),
known as (
  select infant_id, get_field(born, 's') as born_s, get_field(born, 'day_s') as born_day_s
  from looked_at
  where is_kept = 1
  union all
  select b.infant_id, b.born_s, b.born_day_s
  from births_before b
  left anti join affected_births a on a.stands_for = b.infant_id
)
select infant_id, born_s, born_day_s
from known
