-- title: Cases to review
-- grain: one row per case
-- reads: review_list
-- choices: Rows of the review list, of the months that are asked for.
select
  grade, finding, outcome, case_key, fact_table, fact_id, beside, infant_id, unit, at_s, is_untreated, over_exchange_micro, month
from review_list
where month between $first_month and $last_month
order by case_key
