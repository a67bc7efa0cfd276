-- title: Babies that went home at risk
-- grain: one row per baby that went home from its birth stay, and what it went home with
-- order: month, infant_id, what
-- reads: stay_chains, referral_episodes, judged_screens, judged_serum, known_until, protocol_limits, local_offsets
-- needs: births, screens, serum, phototherapy, stays
-- looks back: by the protocol's hours before going home, and to a baby's first referral
-- looks ahead: by the protocol's hours after going home
-- choices: Data end is the earliest of the tables needed; what happened later does not exist yet.
--   referral_unanswered: a referral of either kind whose first screen lies before going home, and whose
--   answer does not. near_line: a test within the protocol's hours before going home, without a bound, was at
--   the line or below it by no more than the protocol's gap; the last such test is named.
--   is_tested says whether a screen or valid serum followed within the same hours after going home.
with tests as (
  select 'screens' as fact_table, infant_id, screen_id as fact_id, measured_s as at_s, gap_micro, bound from judged_screens
  union all
  select 'serum', infant_id, specimen_id, collected_s, gap_micro, bound from judged_serum where is_valid
),
went_home as (
  select
    c.infant_id, c.unit, c.end_s as home_s, l.home_at_risk_s, l.home_at_risk_micro, u.all_s as data_end_s,
    to_char(cast(cast((c.end_s + o.offset_s) / 86400 as int) as date), '%Y-%m') as month
  from stay_chains c
  cross join known_until u
  join protocol_limits l on c.end_s >= l.from_s and c.end_s < l.to_s
  join local_offsets o on c.end_s >= o.from_s and c.end_s < o.to_s
  where c.is_birth_stay and c.went = 'home' and c.end_s <= u.all_s
),
unanswered as (
  select
    h.infant_id, e.index_screen_id, e.index_s,
    row_number() over (partition by h.infant_id order by e.index_s desc, e.index_screen_id desc) as place
  from went_home h
  join referral_episodes e
    on e.infant_id = h.infant_id and e.index_s <= h.home_s and coalesce(e.answer_collected_s > h.home_s, true)
),
near_line as (
  select
    h.infant_id, t.fact_table, t.fact_id, t.at_s,
    row_number() over (partition by h.infant_id order by t.at_s desc, t.fact_table desc, t.fact_id desc) as place
  from went_home h
  join tests t
    on t.infant_id = h.infant_id and t.at_s >= h.home_s - h.home_at_risk_s and t.at_s <= h.home_s
    and t.bound is null and t.gap_micro between 0 and h.home_at_risk_micro
),
tested_after as (
  select distinct h.infant_id
  from went_home h
  join tests t
    on t.infant_id = h.infant_id and t.at_s > h.home_s and t.at_s <= least(h.home_s + h.home_at_risk_s, h.data_end_s)
),
found as (
  select infant_id, 'referral_unanswered' as what, 'screens' as fact_table, index_screen_id as fact_id, index_s as at_s
  from unanswered
  where place = 1
  union all
  select infant_id, 'near_line', fact_table, fact_id, at_s
  from near_line
  where place = 1
)
select
  f.infant_id, f.what, f.fact_table, f.fact_id, f.at_s, h.home_s, h.unit, t.infant_id is not null as is_tested, h.month
from found f
join went_home h on h.infant_id = f.infant_id
left join tested_after t on t.infant_id = f.infant_id
