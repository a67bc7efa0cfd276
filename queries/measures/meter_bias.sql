-- title: Bias of the meter
-- what: By how much screens read above or below the serum taken close to them, and between which
--   limits 95 of 100 differences lie.
-- grain: one row per pair; all three figures are of the same
-- reads: pairs
-- needs: births, screens, serum, phototherapy, stays
-- kind: difference
-- outcomes: pair
-- figures: meter_bias = pair / pair;
--   meter_bias_lower_limit = pair / pair from meter_bias;
--   meter_bias_upper_limit = pair / pair from meter_bias
-- labels: meter_bias = Bias of the meter; meter_bias_lower_limit = Lower limit of agreement;
--   meter_bias_upper_limit = Upper limit of agreement
-- quantity: umol/L
-- cases: pairs
-- starts with: pairs of the month
-- dropped: later_pair then first pairs of a baby
-- choices: The difference is screen minus serum, umol/L. One pair for each baby, its earliest, so that
--   babies with many pairs do not weigh more. Limits of agreement are bias plus and minus 1.96 SD.
-- better: neither
-- direction: closer to zero is better, and closer limits are better
-- chart: value by month; meter_bias_lower_limit none; meter_bias_upper_limit none
-- source: Bland and Altman 1986, 1999; taken within 60 minutes is common practice
select
  'meter_bias' as figure, month, unit, infant_id, screen_id as case_id, measured_s as at_s,
  'outcome' as kind, 'pair' as name, difference_micro
from pairs
where is_first_of_baby
