-- title: Time to treatment
-- what: Serum above the line of babies without phototherapy, and whether it started after the result:
--   in time, late, or not while it was followed. A baby may have several: a rebound, a readmission.
-- grain: one row per serum above the line that opens the wait
-- reads: above_line_serum
-- needs: births, serum, phototherapy, stays
-- kind: proportion
-- outcomes: in_time, late, none, left, open
-- figures: time_to_treatment = in_time / in_time + late + none;
--   untreated_6h = late + none / in_time + late + none from time_to_treatment;
--   untreated_24h = none / in_time + late + none from time_to_treatment;
--   never_treated = never / treated + never besides left + open from time_to_treatment;
--   treated_first = lamps_first / lamps_first + serum_first besides left + open from time_to_treatment
-- labels: time_to_treatment = Phototherapy in time; untreated_6h = Not treated in time;
--   untreated_24h = Not treated while followed; never_treated = Never treated;
--   treated_first = Phototherapy before the blood
-- quantity: share
-- cases: serum above the line
-- starts with: serum of the month above the line that opened a wait, or without a line
-- choices: The names untreated_6h and untreated_24h are those of the usual hours; the protocol's
--   hours count. never_treated counts the same serum: treated also when phototherapy started after
--   the follow-up. Lamps before the blood, for a value that proves above the line, are the best care.
-- left out: no birth time, no gestation, no line; a course around it whose end is not known; a stay ended
--   without a disposition while the time allowed ran
-- clusters: babies
-- better: lower; time_to_treatment higher; treated_first neither
-- direction: in time: higher is better; untreated and never treated: lower is better
-- chart: proportion by month; treated_first none
-- source: line NICE CG98 or the site's; the hours are local definitions
select
  'time_to_treatment' as figure, month, unit, infant_id, specimen_id as case_id, collected_s as at_s,
  case when outcome is null then 'left_out' else 'outcome' end as kind,
  coalesce(outcome, left_out) as name,
  case
    when outcome in ('in_time', 'late', 'none') then concat(
      case when is_treated then 'treated ' else 'never ' end,
      case when is_beside_lamps then 'lamps_first' else 'serum_first' end
    )
  end as also
from above_line_serum
