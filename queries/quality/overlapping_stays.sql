-- title: Stays of a baby overlap, or one was never closed
-- grain: one row per finding: one unit, month of admission and kind
-- reads: chained_stays
-- level: warn
-- choices: A stay overlaps when the baby is admitted before the latest end of its earlier stays, also
--   while one of them is open. One was never closed when it has no end and the baby was admitted from
--   home later: it is taken to end then, and the second stay does not overlap it. Unit and month are
--   those of the later stay of an overlap, and of the stay without an end.
with beside as (
  select
    unit, month, admitted_s, discharge_assumed,
    max(discharged_s) over before as before_end_s,
    max(case when discharged_s is null then 1 else 0 end) over before as before_is_open
  from chained_stays
  window before as (
    partition by infant_id order by stay_no rows between unbounded preceding and 1 preceding
  )
),
found as (
  select unit, month, 'that overlaps another of the baby' as one, 'that overlap others of the baby' as several
  from beside
  where before_is_open = 1 or admitted_s < before_end_s
  union all
  select unit, month, 'without an end before a later admission', 'without an end before a later admission'
  from beside
  where discharge_assumed
)
select
  concat('stays, unit ', coalesce(unit, 'unknown')) as about, month,
  concat(cast(count(*) as varchar), case when count(*) = 1 then concat(' stay ', one) else concat(' stays ', several) end)
    as found,
  cast(count(*) as bigint) as n
from found
group by unit, month, one, several
order by about, month, found
