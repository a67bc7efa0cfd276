-- title: Births, and the first readmission for jaundice of each baby
-- grain: one row per baby born by data end
-- order: month, infant_id
-- reads: known_births, known_until, last_births, stay_chains, chained_stays, courses, protocol_limits,
--   protocol_windows, protocol_codes
-- needs: births, phototherapy, stays
-- looks back: not at all
-- looks ahead: the protocol's longest readmission age
-- choices: Data end is the earliest of the tables needed; what happened later does not exist yet.
--   state is why the baby is not counted, open while it is still in the birth stay, or home. A
--   readmission is a chain of stays other than the birth stay that starts when that has ended or
--   later, also one by transfer, as the baby then came back by way of a hospital outside these
--   extracts (is_by_transfer); for jaundice when the primary diagnosis of any of
--   its stays is on the protocol's list and not on its list of exceptions (prefixes, without
--   dots), or a course starts in [admitted, discharged]. It is looked for of every baby that is not
--   still in, also of one that is not counted: in no rate, but a case to review. Judged by the protocol at birth.
--   followed_s is the baby's age at data end, followed_all_s that of the last known birth of the month, both
--   no further than the protocol's longest readmission age.
with chains as (
  select
    c.infant_id, c.chain_no, c.start_s, c.source, c.is_birth_stay,
    case when c.end_s <= u.readmission_s and coalesce(c.left_for_good_s <= u.readmission_s, true) then c.end_s end as end_s,
    case when c.end_s <= u.readmission_s and coalesce(c.left_for_good_s <= u.readmission_s, true) then c.went end as went
  from stay_chains c
  cross join known_until u
  where c.start_s <= u.readmission_s
),
longest as (
  select version, max(within_s) as longest_s from protocol_windows where purpose = 'readmission' group by version
),
cohort as (
  select
    b.infant_id, b.month, b.unit, b.born_s, b.gestation_days,
    l.version, l.readmission_gestation_days, u.readmission_s as data_end_s,
    s.end_s as birth_stay_end_s,
    case
      when b.born_s is null then 'birth_time_unknown'
      when b.gestation_days is null then 'gestation_unknown'
      when b.gestation_days < l.readmission_gestation_days then 'gestation_below_limit'
      when s.infant_id is null then 'no_birth_stay'
      when s.end_s is null then 'open'
      when s.went = 'unknown' then 'disposition_unknown'
      when s.went <> 'home' then 'left'
      else 'home'
    end as state
  from known_births b
  cross join known_until u
  join protocol_limits l
    on b.birth_s >= l.from_s and b.birth_s < l.to_s
  left join chains s on s.infant_id = b.infant_id and s.is_birth_stay
  where b.birth_s <= u.readmission_s
),
later as (
  select c.infant_id, h.chain_no, h.start_s, h.end_s, h.source, c.version, c.data_end_s
  from cohort c
  join chains h on h.infant_id = c.infant_id and not h.is_birth_stay
  where c.state <> 'open' and h.start_s >= coalesce(c.birth_stay_end_s, h.start_s)
),
coded as (
  select
    l.infant_id, l.chain_no, s.stay_id,
    max(case when k.purpose = 'readmission' then 1 else 0 end) as is_listed,
    max(case when k.purpose = 'readmission_except' then 1 else 0 end) as is_excepted
  from later l
  join chained_stays s on s.infant_id = l.infant_id and s.chain_no = l.chain_no and s.admitted_s <= l.data_end_s
  join protocol_codes k
    on k.version = l.version and k.purpose in ('readmission', 'readmission_except')
    and starts_with(s.primary_code, k.code)
  group by l.infant_id, l.chain_no, s.stay_id
),
for_jaundice as (
  select infant_id, chain_no from coded where is_listed = 1 and is_excepted = 0
  union
  select l.infant_id, l.chain_no
  from later l
  join courses c
    on c.infant_id = l.infant_id and c.start_s >= l.start_s and c.start_s <= coalesce(l.end_s, l.data_end_s)
),
first_one as (
  select
    l.infant_id, l.start_s as readmitted_s, coalesce(l.source, '') = 'transfer' as is_by_transfer,
    row_number() over (partition by l.infant_id order by l.start_s, l.chain_no) as place
  from later l
  join for_jaundice j on j.infant_id = l.infant_id and j.chain_no = l.chain_no
),
deaths as (
  select c.infant_id, min(s.discharged_s) as died_s
  from cohort c
  join chained_stays s
    on s.infant_id = c.infant_id and s.disposition = 'died' and s.discharged_s <= c.data_end_s
    and s.discharged_s >= c.birth_stay_end_s
  where c.state = 'home'
  group by c.infant_id
)
select
  c.infant_id, c.unit, c.born_s, c.gestation_days, c.version, c.state,
  c.birth_stay_end_s - c.born_s as home_age_s,
  f.readmitted_s, f.readmitted_s - c.born_s as readmitted_age_s, coalesce(f.is_by_transfer, false) as is_by_transfer,
  d.died_s - c.born_s as died_age_s,
  least(c.data_end_s - c.born_s, w.longest_s) as followed_s, least(c.data_end_s - m.last_born_s, w.longest_s) as followed_all_s,
  c.month
from cohort c
left join first_one f on f.infant_id = c.infant_id and f.place = 1
left join deaths d on d.infant_id = c.infant_id
left join last_births m on m.month = c.month
left join longest w on w.version = c.version
