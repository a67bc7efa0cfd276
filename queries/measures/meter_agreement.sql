-- title: Meter agreement
-- what: Screens and serum of one baby taken close together, and how often the serum was above the
--   line although the screen had called for none: the dangerous miss.
-- grain: one row per pair
-- reads: pairs
-- needs: births, screens, serum, phototherapy, stays
-- kind: proportion
-- outcomes: above_line, not_above_line, due
-- figures: dangerous_miss = above_line / above_line + not_above_line
-- labels: dangerous_miss = Dangerous miss
-- quantity: share
-- cases: pairs
-- starts with: pairs of the month
-- choices: All pairs count, not only the first of a baby. Pairs whose screen called for a serum are
--   in no rate: the meter did not miss these.
-- left out: pairs whose screen could not call for a serum, by reason
-- clusters: babies
-- better: lower
-- direction: lower is better
-- chart: proportion by month
-- source: common practice: taken within 60 minutes; dangerous miss is a local definition
select
  'dangerous_miss' as figure, month, unit, infant_id, screen_id as case_id, measured_s as at_s,
  case when left_out is null then 'outcome' else 'left_out' end as kind,
  coalesce(left_out, outcome) as name
from pairs
