-- title: From when on moving data end may decide what is derived of a row
-- grain: one row
-- reads: protocol_limits, protocol_windows
-- looks back: from the earlier data end by the longest time that a measure looks ahead, and a margin
-- choices: The margin is two months, as the babies of one month are provisional together.
with longest as (
  select max(within_s) as readmission_s from protocol_windows where purpose = 'readmission'
)
select
  $data_end_s - greatest(
    max(w.readmission_s), max(l.referral_follow_up_s), max(l.recheck_late_until_s), max(l.treatment_follow_up_s),
    max(l.redraw_follow_up_s)
  ) - $margin_s as from_s
from protocol_limits l
cross join longest w
