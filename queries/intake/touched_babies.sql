-- title: Babies of whom a live row has changed
-- grain: one row per baby
-- reads: live_new, live_before, affected
with touched as (
  select of_infant_id as infant_id from live_new
  union
  select b.of_infant_id as infant_id
  from live_before b
  left semi join affected a on a.row_id = b.row_id
)
select infant_id from touched
where infant_id is not null
order by infant_id
