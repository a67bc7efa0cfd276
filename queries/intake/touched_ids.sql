-- title: Babies whose birth has changed
-- grain: one row per baby
-- reads: touched_babies
select distinct infant_id from touched_babies
order by infant_id
