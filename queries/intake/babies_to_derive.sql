-- title: Babies of whom derived rows may have changed
-- grain: one row per baby
-- reads: touched_babies, births, screens, serum, phototherapy, stays, exchanges, protocol_limits
-- looks back: from the earlier data end by the longest time that a measure looks ahead, and a margin
-- choices: A baby has a changed live row, or anything of it lies so late that moving data end may
--   decide it, or a stay or phototherapy of it has no end. Of all others every derived row is as it
--   was. The margin is two months, as the babies of one month are provisional together.
with cut as (
  select cast($data_end_s as bigint) - greatest(
      max(provisional_s), max(referral_follow_up_s), max(recheck_late_until_s), max(treatment_follow_up_s)
    )
    - cast($margin_s as bigint) as from_s
  from protocol_limits
),
recent as (
  select infant_id, coalesce(born_s, born_day_s) as at_s from births
  union all
  select infant_id, measured_s as at_s from screens
  union all
  select infant_id, collected_s as at_s from serum
  union all
  select infant_id, stopped_s as at_s from phototherapy
  union all
  select infant_id, discharged_s as at_s from stays
  union all
  select infant_id, performed_s as at_s from exchanges
)
select infant_id from touched_babies
union
select r.infant_id
from recent r
cross join cut c
where r.at_s >= c.from_s or r.at_s is null
