-- title: Screening coverage
-- what: Babies born in the month, and whether bilirubin was tested at the ages the protocol asks
--   for, by screen or serum, or before going home for those who went home earlier.
-- grain: one row per baby born in the month
-- reads: known_births, known_until, judged_screens, judged_serum, courses, stay_chains, protocol_limits
-- needs: births, screens, serum, phototherapy, stays
-- kind: proportion
-- outcomes: tested, too_early, after_discharge, not_tested, open
-- figures: screening_coverage = tested / tested + too_early + after_discharge + not_tested
-- labels: screening_coverage = Screening coverage
-- quantity: share
-- cases: births
-- starts with: births of the month
-- dropped: after_data_end then by data end, not_asked_for then coverage is asked for
-- choices: Judged by the protocol at birth; a protocol that tests only visible jaundice asks for no
--   coverage. Any screen and any valid serum is a test, whether the meter was suited or not. A baby
--   under the last age asked for at data end is open, tested or not. A baby that went home before that age
--   is tested when a test lies from the protocol's earliest age to going home; too_early when all before
--   going home came sooner; after_discharge when the first came after it, by the last age. All others are
--   tested when a test lies between the two ages, both included; with a stay that ended without a disposition
--   it must also lie before that end. phototherapy: a course started before the first test, by going
--   home or the last age, whichever is first.
-- left out: no birth time, no gestation or below the limit, phototherapy before the first test, no
--   birth stay; and without a test in time: went where is unknown, died or transferred out
-- better: higher
-- direction: higher is better
-- chart: proportion by month
-- source: AAP 2022: TcB or TSB between 24 and 48 h, or before discharge if earlier, from 12 h of age on
with birth_stays as (
  select
    c.infant_id,
    case when c.end_s <= u.all_s and coalesce(c.left_for_good_s <= u.all_s, true) then c.end_s end as end_s,
    case when c.end_s <= u.all_s and coalesce(c.left_for_good_s <= u.all_s, true) then c.went end as went
  from stay_chains c
  cross join known_until u
  where c.is_birth_stay and c.start_s <= u.all_s
),
cohort as (
  select
    b.infant_id, b.month, b.unit, b.born_s, b.gestation_days, u.all_s as data_end_s,
    l.coverage_gestation_days, b.born_s + l.coverage_from_s as from_s, b.born_s + l.coverage_to_s as to_s,
    case when l.coverage_earliest_s > 0 then b.born_s + l.coverage_earliest_s end as earliest_s,
    s.infant_id is not null as has_birth_stay, s.end_s, s.went,
    coalesce(s.went = 'home' and s.end_s < b.born_s + l.coverage_to_s, false) as went_home_early
  from known_births b
  cross join known_until u
  join protocol_limits l
    on b.birth_s >= l.from_s and b.birth_s < l.to_s and l.coverage_gestation_days is not null
  left join birth_stays s on s.infant_id = b.infant_id
  where b.birth_s <= u.all_s
),
tests as (
  select infant_id, measured_s as at_s from judged_screens
  union all
  select infant_id, collected_s from judged_serum where is_valid
),
tested as (
  select
    c.infant_id,
    min(t.at_s) as first_s,
    max(case when t.at_s >= c.from_s and t.at_s <= c.to_s then 1 end) as in_window,
    max(case when t.at_s <= c.end_s and t.at_s >= coalesce(c.earliest_s, t.at_s) then 1 end) as in_stay,
    max(case when t.at_s <= c.end_s and t.at_s >= c.from_s then 1 end) as in_window_of_stay
  from cohort c
  join tests t on t.infant_id = c.infant_id and t.at_s <= c.data_end_s
  group by c.infant_id
),
treated as (
  select c.infant_id, min(k.start_s) as course_s
  from cohort c
  join courses k
    on k.infant_id = c.infant_id and k.start_s <= c.data_end_s
    and k.start_s >= c.born_s and k.start_s <= least(case when c.went = 'home' then c.end_s end, c.to_s)
  group by c.infant_id
),
judged as (
  select
    c.*,
    case
      when c.born_s is null then 'birth_time_unknown'
      when c.data_end_s < c.to_s then 'open'
      when c.gestation_days is null then 'gestation_unknown'
      when c.gestation_days < c.coverage_gestation_days then 'gestation_below_limit'
      when k.course_s < t.first_s or (k.course_s is not null and t.first_s is null) then 'phototherapy'
      when not c.has_birth_stay then 'no_birth_stay'
      when c.went_home_early then case
        when t.in_stay = 1 then 'tested'
        when t.first_s <= c.end_s then 'too_early'
        when t.first_s <= c.to_s then 'after_discharge'
        else 'not_tested'
      end
      when c.end_s < c.to_s and c.went = 'unknown' then
        case when t.in_window_of_stay = 1 then 'tested' else 'disposition_unknown' end
      when t.in_window = 1 then 'tested'
      when c.end_s < c.to_s then 'left'
      else 'not_tested'
    end as name
  from cohort c
  left join tested t on t.infant_id = c.infant_id
  left join treated k on k.infant_id = c.infant_id
)
select
  'screening_coverage' as figure, month, unit, infant_id, infant_id as case_id, born_s as at_s,
  case when name in ('tested', 'too_early', 'after_discharge', 'not_tested', 'open') then 'outcome' else 'left_out' end as kind,
  name
from judged
