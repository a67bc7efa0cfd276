-- title: What followed each referral
-- grain: one row per referral episode
-- order: month, infant_id, index_s, index_screen_id
-- kept: while deriving
-- reads: referral_indices, judged_serum, stay_chains, exits, known_until
-- needs: births, screens, serum, phototherapy, stays
-- looks back: 6 h before the index (the protocol's hours of a recent serum)
-- looks ahead: 24 h after the index (the protocol's follow-up)
-- choices: The answer is the first valid serum in [index - paired, index + follow-up], ties by
--   specimen id. Spans are seconds from the index; what is later than data end has not happened. A baby
--   that is admitted again by the end of the follow-up has not left. A recent serum is a valid one below
--   its line in [index - the protocol's hours, index - paired).
with indices as (
  select i.*, u.all_s as data_end_s
  from referral_indices i
  cross join known_until u
),
answers as (
  select
    i.index_screen_id, v.specimen_id, v.collected_s, v.resulted_s,
    row_number() over (partition by i.index_screen_id order by v.collected_s, v.specimen_id) as place
  from indices i
  join judged_serum v
    on v.infant_id = i.infant_id and v.is_valid and v.collected_s <= i.data_end_s
    and v.collected_s >= i.index_s - i.paired_before_s and v.collected_s <= i.index_s + i.referral_follow_up_s
),
failed as (
  select i.index_screen_id, count(*) as failed_attempts
  from indices i
  join judged_serum s
    on s.infant_id = i.infant_id and s.is_failed_attempt and s.collected_s <= i.data_end_s
    and s.collected_s >= i.index_s - i.paired_before_s and s.collected_s <= i.index_s + i.referral_follow_up_s
  group by i.index_screen_id
),
recent as (
  select distinct i.index_screen_id
  from indices i
  join judged_serum v
    on v.infant_id = i.infant_id and v.is_valid and v.compare_micro < v.line_micro
    and v.collected_s >= i.index_s - i.recent_serum_s and v.collected_s < i.index_s - i.paired_before_s
),
left_after as (
  select
    i.index_screen_id,
    min(case when e.how = 'died' then e.at_s end) as died_s,
    min(case when e.how = 'transfer' then e.at_s end) as left_s,
    min(case when e.how = 'unknown' then e.at_s end) as unknown_s
  from indices i
  join exits e
    on e.infant_id = i.infant_id and e.at_s >= i.index_s and e.known_s <= i.data_end_s
    and coalesce(e.back_s > least(i.index_s + i.referral_follow_up_s, i.data_end_s), true)
  group by i.index_screen_id
),
containing as (
  select
    i.index_screen_id, c.went, case when c.end_s <= i.data_end_s then c.end_s end as end_s,
    row_number() over (partition by i.index_screen_id order by c.start_s, c.first_stay_id) as place
  from indices i
  join stay_chains c
    on c.infant_id = i.infant_id and c.start_s <= i.index_s and (c.end_s is null or i.index_s < c.end_s)
)
select
  i.kind, i.index_screen_id, i.infant_id, i.unit, i.index_s, i.age_s, i.version, i.within_s, i.due_screens,
  i.local_day, i.local_hour, i.is_weekend, i.month,
  coalesce(f.failed_attempts, 0) as failed_attempts,
  a.specimen_id, a.collected_s,
  i.data_end_s - i.index_s as data_end_after_s,
  i.referral_follow_up_s,
  case when a.collected_s < i.index_s then 0 else a.collected_s - i.index_s end as serum_after_s,
  case when a.resulted_s < i.index_s then 0 else a.resulted_s - i.index_s end as result_after_s,
  x.died_s - i.index_s as died_after_s,
  x.left_s - i.index_s as left_after_s,
  x.unknown_s - i.index_s as unknown_after_s,
  case when c.went = 'home' then c.end_s - i.index_s end as home_after_s,
  case when c.went = 'unknown' and x.unknown_s = c.end_s then c.end_s - i.index_s end as stay_unknown_after_s,
  r.index_screen_id is not null as has_recent_serum
from indices i
left join answers a on a.index_screen_id = i.index_screen_id and a.place = 1
left join failed f on f.index_screen_id = i.index_screen_id
left join left_after x on x.index_screen_id = i.index_screen_id
left join containing c on c.index_screen_id = i.index_screen_id and c.place = 1
left join recent r on r.index_screen_id = i.index_screen_id
