-- title: Courses of phototherapy
-- grain: one row per course
-- order: month, infant_id, course_no
-- reads: phototherapy, stay_chains, known_births, protocol_limits, local_offsets
-- looks back: to a baby's first episode
-- looks ahead: to the end of the course
-- choices: A course is [start, end). Episodes that overlap or lie no further apart than the
--   protocol's hours are one. An episode without a stop ends with the earliest chain of stays that
--   contains its start; where that is not known, or later, the protocol's hours after its start. A
--   course that ends so is flagged stop_assumed, unless a recorded stop falls on the same second:
--   when the lamps went off is not known, so it triggers no recheck. Unit and month are those of
--   the first episode.
with containing as (
  select
    p.episode_id, c.end_s,
    row_number() over (partition by p.episode_id order by c.start_s, c.first_stay_id) as place
  from phototherapy p
  join stay_chains c
    on c.infant_id = p.infant_id and c.start_s <= p.started_s and (c.end_s is null or p.started_s < c.end_s)
  where p.stopped_s is null
),
bounded as (
  select
    p.infant_id, p.episode_id, p.started_s, p.stopped_s, p.unit, p.local_month, l.course_gap_s,
    coalesce(p.stopped_s, least(c.end_s, p.started_s + l.assumed_stop_s)) as end_s
  from phototherapy p
  join protocol_limits l on p.started_s >= l.from_s and p.started_s < l.to_s
  left join containing c on c.episode_id = p.episode_id and c.place = 1
),
after as (
  select
    *,
    max(end_s) over (
      partition by infant_id order by started_s, episode_id
      rows between unbounded preceding and 1 preceding
    ) as before_end_s
  from bounded
),
numbered as (
  select
    *,
    sum(case when started_s <= before_end_s + course_gap_s then 0 else 1 end) over (
      partition by infant_id order by started_s, episode_id
      rows between unbounded preceding and current row
    ) as course_no,
    row_number() over (partition by infant_id order by started_s, episode_id) as episode_no
  from after
),
merged as (
  select
    infant_id, course_no,
    min(episode_no) as first_episode_no,
    min(started_s) as start_s,
    max(end_s) as end_s,
    max(stopped_s) as last_stop_s,
    count(*) as episodes
  from numbered
  group by infant_id, course_no
)
select
  m.infant_id, m.course_no, m.start_s, greatest(m.start_s, b.birth_s) as known_from_s, m.end_s,
  m.last_stop_s is null or m.last_stop_s < m.end_s as stop_assumed,
  m.episodes,
  coalesce(f.unit, 'unknown') as unit,
  to_char(cast(cast((m.end_s + o.offset_s) / 86400 as int) as date), '%Y-%m') as end_month,
  f.local_month as month
from merged m
join known_births b on b.infant_id = m.infant_id
join numbered f on f.infant_id = m.infant_id and f.episode_no = m.first_episode_no
join local_offsets o on m.end_s >= o.from_s and m.end_s < o.to_s
