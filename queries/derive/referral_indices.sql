-- title: Referrals: the screen that opened each
-- grain: one row per referral episode: of due screens (kind due), and of screens where the meter is not
--   to be used, that call for a serum all the more (kind off_limit)
-- order: month, infant_id, index_s, index_screen_id
-- reads: judged_screens, judged_serum, known_until, protocol_limits, protocol_windows
-- needs: births, screens, serum, phototherapy, stays
-- looks back: to a baby's first due screen
-- looks ahead: not at all
-- choices: Data end is the earliest of the tables needed; what happened later does not exist
--   yet, nor does a baby born later.
--   A due screen joins the episode of the baby's previous due screen when it is sooner after that
--   one than the protocol's hours and no valid serum was collected in [previous - paired, this -
--   paired). The index is the first screen; the window follows from its age. Screens of one kind make
--   the episodes of that kind. A screen inside a course is in none.
with due as (
  select
    case when s.is_due then 'due' else 'off_limit' end as kind,
    s.screen_id, s.infant_id, s.unit, s.measured_s, s.age_s, s.month, s.local_day, s.local_hour, s.is_weekend, s.version,
    l.paired_before_s, l.same_referral_under_s, l.recent_serum_s, l.referral_follow_up_s,
    case when s.age_s <= l.off_limit_first_day_s then l.off_limit_first_day_within_s else l.off_limit_within_s end
      as off_limit_within_s
  from judged_screens s
  join protocol_limits l on l.version = s.version
  cross join known_until u
  where (s.is_due or (s.is_off_limit and not s.in_course)) and s.known_from_s <= u.all_s
),
valid as (
  select s.infant_id, s.collected_s
  from judged_serum s
  cross join known_until u
  where s.is_valid and s.collected_s <= u.all_s
),
followed as (
  select
    *,
    lag(measured_s) over (partition by infant_id, kind order by measured_s, screen_id) as before_s
  from due
),
answered_between as (
  select distinct f.screen_id
  from followed f
  join valid v
    on v.infant_id = f.infant_id
    and v.collected_s >= f.before_s - f.paired_before_s and v.collected_s < f.measured_s - f.paired_before_s
),
numbered as (
  select
    f.*,
    sum(case
      when f.before_s is not null and f.measured_s - f.before_s < f.same_referral_under_s and a.screen_id is null then 0
      else 1
    end) over (
      partition by f.infant_id, f.kind order by f.measured_s, f.screen_id
      rows between unbounded preceding and current row
    ) as episode_no
  from followed f
  left join answered_between a on a.screen_id = f.screen_id
),
placed as (
  select
    *,
    row_number() over (partition by infant_id, kind, episode_no order by measured_s, screen_id) as place,
    count(*) over (partition by infant_id, kind, episode_no) as due_screens
  from numbered
)
select
  p.kind, p.infant_id, p.screen_id as index_screen_id, p.unit, p.measured_s as index_s, p.local_day, p.local_hour, p.is_weekend,
  p.age_s, p.version,
  case when p.kind = 'due' then w.within_s else p.off_limit_within_s end as within_s, p.paired_before_s, p.recent_serum_s, p.referral_follow_up_s, p.due_screens, p.month
from placed p
left join protocol_windows w
  on w.version = p.version and w.purpose = 'referral'
  and p.age_s >= w.age_from_s and p.age_s < w.age_below_s
where p.place = 1
