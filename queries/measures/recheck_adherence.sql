-- title: Recheck adherence
-- what: Tests that a rule of the protocol called for after a trigger, and whether one was taken
--   inside its window.
-- grain: one row per obligation: one trigger under one rule
-- reads: recheck_obligations
-- needs: births, screens, serum, phototherapy, stays
-- kind: proportion
-- outcomes: on_time, late, early_only, none, excused, left, open
-- figures: recheck_adherence_* = on_time / on_time + late + early_only + none
-- labels: recheck_adherence_* = {name}; recheck_adherence_near_line = Recheck near the line;
--   recheck_adherence_treatment_first = First serum in phototherapy;
--   recheck_adherence_treatment_next = Next serum in phototherapy; recheck_adherence_rebound = Rebound check;
--   recheck_adherence_discharge_gap = Test after going home by the gap;
--   recheck_adherence_first_day = Serum after a first-day value above the line
-- quantity: share
-- cases: rechecks
-- each: recheck rule
-- starts with: triggers of the month under the rule
-- left out: tests that might have been a trigger but lack birth time, gestation or a line; baby's
--   stay ended without a disposition before the window closed
-- clusters: babies
-- better: higher
-- direction: higher is better
-- chart: proportion by month
-- source: rules NICE CG98 or AAP 2022, as the protocol says, hours from memory; outcomes are local
--   definitions
select
  concat('recheck_adherence_', rule) as figure, month, unit, infant_id,
  concat(trigger_table, ' ', trigger_id) as case_id, trigger_s as at_s,
  case when outcome is null then 'left_out' else 'outcome' end as kind,
  coalesce(outcome, left_out) as name
from recheck_obligations
