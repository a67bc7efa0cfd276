-- title: Rows of this load that were loaded before
-- grain: one row per row that repeats a row of an earlier load, or an earlier row of this one
-- reads: staged_keys, keys_before
-- choices: A repeat has the same cells in the same table as any row ever accepted, or of a row set
--   aside as any row ever set aside. Of repeats within a load the first stays. The rows are looked
--   at in $slices parts, by their hash, so that memory does not grow with the load.
with own as (
  select is_aside, hash_high, hash_low, seq
  from staged_keys
  where abs(hash_low % $slices) = $slice
),
several as (
  select is_aside, hash_high, hash_low, min(seq) as first_seq
  from own
  group by is_aside, hash_high, hash_low
  having count(*) > 1
),
repeated as (
  select o.seq
  from several d
  join own o on d.hash_low = o.hash_low and d.hash_high = o.hash_high and d.is_aside = o.is_aside
  where o.seq > d.first_seq
  union
  select o.seq
  from own o
  left semi join keys_before k on k.hash_low = o.hash_low and k.hash_high = o.hash_high and k.is_aside = o.is_aside
)
select seq from repeated
order by seq
