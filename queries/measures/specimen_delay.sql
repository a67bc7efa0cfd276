-- title: Delay after a failed specimen
-- what: How long after a specimen that gave no number the baby's next valid one was collected, those
--   that were never redrawn included.
-- grain: one row per failed specimen, and per preliminary result
-- reads: judged_serum, stay_chains, exits, known_until, protocol_limits
-- needs: births, serum, stays
-- kind: time
-- outcomes: serum, competing, cut, data_end
-- figures: specimen_delay_median = serum / serum + competing + cut + data_end
-- labels: specimen_delay_median = Median delay after a failed specimen
-- quantity: hours
-- cases: failed specimens
-- starts with: failed specimens and preliminary results of the month
-- looks ahead: 24 h after the failed specimen (the protocol's follow-up)
-- choices: The next valid serum is the first of the baby collected at or after the failed one. The
--   wait ends with the first of: that serum, going home at the end of the chain of stays that
--   contains the failed specimen or dying, transfer out, data end, end of follow-up; ties in this
--   order. A baby admitted again by the end of follow-up has not left: a transfer out before that
--   does not end the wait, and a discharge of unknown disposition does not leave it out. A specimen
--   outside any stay has no going home.
-- left out: preliminary results, still pending, with a number or without; failed specimens of a baby
--   discharged with unknown disposition before the wait ended
-- clusters: babies
-- better: lower
-- direction: lower is better; there is no median where fewer than half were redrawn
-- chart: median by month
-- source: local definition; Aalen-Johansen, with going home or dying without a valid serum as the
--   competing event: the median of those redrawn alone would hide the specimens that never were
with failed as (
  select
    s.month, s.unit, s.infant_id, s.specimen_id, s.collected_s, s.is_failed_attempt, l.redraw_follow_up_s,
    u.specimens_s as data_end_s
  from judged_serum s
  cross join known_until u
  join protocol_limits l on l.version = s.version
  where s.is_total_in_serum and (s.is_failed_attempt or s.status = 'preliminary') and s.known_from_s <= u.specimens_s
),
redrawn as (
  select f.specimen_id, min(v.collected_s) as next_s
  from failed f
  join judged_serum v
    on v.infant_id = f.infant_id and v.is_valid and v.collected_s >= f.collected_s and v.collected_s <= f.data_end_s
  group by f.specimen_id
),
died as (
  select f.specimen_id, min(e.at_s) as died_s
  from failed f
  join exits e
    on e.infant_id = f.infant_id and e.how = 'died' and e.at_s >= f.collected_s and e.known_s <= f.data_end_s
  group by f.specimen_id
),
chains as (
  select
    infant_id, start_s, end_s, went, coalesce(left_for_good_s, end_s) as known_s,
    lead(start_s) over (partition by infant_id order by chain_no) as back_s
  from stay_chains
),
went as (
  select
    f.specimen_id, c.went, c.end_s, c.start_s <= f.collected_s and f.collected_s < c.end_s as holds_specimen,
    coalesce(c.back_s <= least(f.collected_s + f.redraw_follow_up_s, f.data_end_s), false) as is_back
  from failed f
  join chains c on c.infant_id = f.infant_id and c.end_s >= f.collected_s and c.known_s <= f.data_end_s
),
left_after as (
  select
    specimen_id,
    min(case when went = 'home' and holds_specimen then end_s end) as home_s,
    min(case when went = 'transfer' and not is_back then end_s end) as transferred_s,
    min(case when went = 'unknown' and not is_back then end_s end) as unknown_s
  from went
  group by specimen_id
),
waits as (
  select
    f.*, r.next_s, w.unknown_s, least(w.home_s, d.died_s) as competing_s,
    least(w.transferred_s, f.data_end_s, f.collected_s + f.redraw_follow_up_s) as cut_s
  from failed f
  left join redrawn r on r.specimen_id = f.specimen_id
  left join died d on d.specimen_id = f.specimen_id
  left join left_after w on w.specimen_id = f.specimen_id
),
ended as (
  select
    *,
    case
      when not is_failed_attempt then 'pending'
      when unknown_s < least(next_s, competing_s, cut_s) then 'disposition_unknown'
      when next_s <= least(competing_s, cut_s) then 'serum'
      when competing_s <= cut_s then 'competing'
      when cut_s = data_end_s and data_end_s < collected_s + redraw_follow_up_s then 'data_end'
      else 'cut'
    end as name
  from waits
)
select
  'specimen_delay_median' as figure, month, unit, infant_id, specimen_id as case_id, collected_s as at_s,
  case when name in ('pending', 'disposition_unknown') then 'left_out' else 'outcome' end as kind, name,
  case name when 'serum' then next_s when 'competing' then competing_s else cut_s end - collected_s as time_s
from ended
