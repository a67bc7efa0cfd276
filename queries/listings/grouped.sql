-- title: Cases of some months, each with its group by each split
-- grain: one row per case and split
-- reads: cases, births, local_offsets
-- choices: $months names the months, $splits the splits and $of_no_baby the measures that are told
--   for units alone, each with spaces between. What is not known is a group of its own, unknown. Gestation goes by completed weeks. Weekend and night are those of the case's moment on
--   the local clock; a case without a moment, as of a baby whose birth is known by day only, is
--   unknown.
with of_months as (
  select * from cases
  where strpos($months, month) > 0 and strpos(' ' || $of_no_baby || ' ', ' ' || measure || ' ') = 0
),
spans as (
  select o.*
  from local_offsets o
  cross join (select min(at_s) as first_s, max(at_s) as last_s from of_months) c
  where o.to_s > c.first_s and o.from_s <= c.last_s
),
placed as (
  select c.*, o.offset_s, o.day_from_hour, o.day_until_hour
  from spans o
  right join of_months c on c.at_s >= o.from_s and c.at_s < o.to_s
),
grouped as (
  select c.*, b.gestation_weeks, b.skin_tone, b.ethnicity, b.feeding
  from births b
  right join placed c on b.infant_id = c.infant_id
)
select
  c.*,
  s.split,
  case s.split
    when 'gestation' then case
      when c.gestation_weeks is null then 'unknown'
      when c.gestation_weeks < 35 then 'under 35'
      when c.gestation_weeks >= 40 then '40 or more'
      else cast(c.gestation_weeks as varchar)
    end
    when 'skin_tone' then coalesce(nullif(c.skin_tone, ''), 'unknown')
    when 'ethnicity' then coalesce(nullif(c.ethnicity, ''), 'unknown')
    when 'feeding' then coalesce(nullif(c.feeding, ''), 'unknown')
    when 'weekend' then case
      when c.at_s is null then 'unknown'
      when date_part('dow', to_timestamp_seconds(c.at_s + c.offset_s)) in (0, 6) then 'weekend'
      else 'weekday'
    end
    when 'night' then case
      when c.at_s is null then 'unknown'
      when date_part('hour', to_timestamp_seconds(c.at_s + c.offset_s)) >= c.day_from_hour
        and date_part('hour', to_timestamp_seconds(c.at_s + c.offset_s)) < c.day_until_hour then 'day'
      else 'night'
    end
  end as group_name
from (
  select s.split
  from (values ('gestation'), ('skin_tone'), ('ethnicity'), ('feeding'), ('weekend'), ('night')) s (split)
  where strpos(' ' || $splits || ' ', ' ' || s.split || ' ') > 0
) s
cross join grouped c
