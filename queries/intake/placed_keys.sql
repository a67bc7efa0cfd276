-- title: Keys with what is known of their id and baby
-- grain: one row per version that is looked at
-- reads: keys_looked_at, aside_keys, births_known, protocol_limits
-- choices: is_withdrawn: any row of the id withdraws it. early_fate: before_birth (a test too long
--   before birth), which_result (a withdrawal that does not say which of several results of its
--   specimen it withdraws: it withdraws none), or held (the baby is not in the birth register); a
--   withdrawal that names no baby is not held. newer_version_set_aside: a later version of the id had to be set aside.
with withdrawn as (
  select distinct table_name, version_of
  from keys_looked_at
  where is_withdrawal
),
refused as (
  select table_name, version_of, max(load * 1000000000 + seq) as last_refused
  from aside_keys
  group by table_name, version_of
),
of_babies as (
  select k.*, b.infant_id as known_baby, coalesce(b.born_s, b.born_day_s) as birth_s
  from births_known b
  right join keys_looked_at k on b.infant_id = k.baby_id
),
or_withdrawn as (
  select k.*, w.version_of is not null as is_withdrawn
  from withdrawn w
  right join of_babies k on w.table_name = k.table_name and w.version_of = k.version_of
),
or_refused as (
  select k.*, coalesce(r.last_refused > k.load * 1000000000 + k.seq, false) as newer_version_set_aside
  from refused r
  right join or_withdrawn k on r.table_name = k.table_name and r.version_of = k.version_of
)
select
  k.table_name, k.stands_for, k.is_withdrawn, k.newer_version_set_aside, k.is_part, k.is_merged_in, k.version_rank,
  k.version_s, k.recorded_s, k.load, k.seq, k.says_birth, k.event_s, k.day_s, k.local_month,
  case
    when k.table_name in ('screens', 'serum') and k.event_s < k.birth_s - l.test_before_birth_s then 'before_birth'
    when k.is_which_unclear then 'which_result'
    when k.of_infant_id is not null and k.table_name not in ('births', 'merges', 'meter_checks') and k.known_baby is null
      then 'held'
  end as early_fate
from (select max(test_before_birth_s) as test_before_birth_s from protocol_limits) l
cross join or_refused k
