-- title: From when on moving data end may decide what is derived of a row
-- grain: one row
-- reads: protocol_limits
-- looks back: from the earlier data end by the longest time that a measure looks ahead, and a margin
-- choices: The margin is two months, as the babies of one month are provisional together.
select
  $data_end_s - greatest(
    max(provisional_s), max(referral_follow_up_s), max(recheck_late_until_s), max(treatment_follow_up_s),
    max(redraw_follow_up_s)
  ) - $margin_s as from_s
from protocol_limits
