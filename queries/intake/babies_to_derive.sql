-- title: Babies of whom derived rows may have changed
-- grain: one row per baby
-- reads: touched_babies, births, screens, serum, versions_serum, phototherapy, stays, exchanges
-- choices: A baby has a changed live row, or anything of it begins or ends at $from_s or later, so
--   that moving data end may decide it; so does a result, of any version, that came long after the
--   specimen. Of all others every derived row is as it was, also where a stay or phototherapy has no
--   end: what data end decides of it lies within reach of a row.
--   $from_month is the local month of $from_s, or the one before it.
with recent as (
  select infant_id, coalesce(born_s, born_day_s) as at_s from births where month >= $from_month
  union all
  select infant_id, measured_s from screens where month >= $from_month
  union all
  select infant_id, collected_s from serum where month >= $from_month
  union all
  select infant_id, performed_s from exchanges where month >= $from_month
  union all
  select infant_id, greatest(started_s, stopped_s) from phototherapy
  union all
  select infant_id, greatest(admitted_s, discharged_s) from stays
  union all
  select s.infant_id, v.resulted_s
  from serum s
  join versions_serum v on v.row_id = s.specimen_id
  where v.resulted_s >= $from_s
)
select infant_id from touched_babies
union
select infant_id
from recent
where at_s >= $from_s or at_s is null
