-- title: Time to treatment
-- what: Babies with a serum above the line outside phototherapy, and whether phototherapy started
--   after its result: in time, late, not while it was followed, or never.
-- grain: one row per baby: its first serum above the line
-- reads: above_line_serum
-- needs: births, serum, phototherapy, stays
-- kind: proportion
-- outcomes: in_time, late, none, left, open
-- figures: time_to_treatment = in_time / in_time + late + none;
--   untreated_6h = late + none / in_time + late + none from time_to_treatment;
--   untreated_24h = none / in_time + late + none from time_to_treatment;
--   never_treated = never / treated + never besides left + open from time_to_treatment
-- labels: time_to_treatment = Phototherapy in time; untreated_6h = Not treated in time;
--   untreated_24h = Not treated while followed; never_treated = Never treated
-- quantity: share
-- cases: babies
-- starts with: babies of the month whose serum was above the line, or who had serum but no line
-- choices: The names untreated_6h and untreated_24h are those of the usual hours; the protocol's
--   hours count. never_treated counts the same babies: treated also when phototherapy started after
--   the follow-up.
-- left out: no birth time, no gestation, no line; a stay ended without a disposition while the time
--   allowed ran
-- clusters: babies
-- better: lower; time_to_treatment higher
-- direction: in time: higher is better; untreated and never treated: lower is better
-- chart: proportion by month
-- source: line NICE CG98 or the site's; the hours are local definitions
select
  'time_to_treatment' as figure, month, unit, infant_id, specimen_id as case_id, collected_s as at_s,
  case when outcome is null then 'left_out' else 'outcome' end as kind,
  coalesce(outcome, left_out) as name,
  case when outcome in ('left', 'open') then null when is_treated then 'treated' when outcome is not null then 'never' end as also
from above_line_serum
