-- title: Cases of a measure, each with the group it is split by
-- grain: one row per case
-- reads: cases, births, local_offsets
-- choices: What is not known is a group of its own, unknown. Gestation goes by completed weeks.
--   Weekend and night are those of the case's moment on the local clock; a case without a moment,
--   as of a baby whose birth is known by day only, is unknown.
select
  c.*,
  case $split
    when 'gestation' then case
      when b.gestation_weeks is null then 'unknown'
      when b.gestation_weeks < 35 then 'under 35'
      when b.gestation_weeks >= 40 then '40 or more'
      else cast(b.gestation_weeks as varchar)
    end
    when 'skin_tone' then coalesce(nullif(b.skin_tone, ''), 'unknown')
    when 'ethnicity' then coalesce(nullif(b.ethnicity, ''), 'unknown')
    when 'feeding' then coalesce(nullif(b.feeding, ''), 'unknown')
    when 'weekend' then case
      when c.at_s is null then 'unknown'
      when date_part('dow', to_timestamp_seconds(c.at_s + o.offset_s)) in (0, 6) then 'weekend'
      else 'weekday'
    end
    when 'night' then case
      when c.at_s is null then 'unknown'
      when date_part('hour', to_timestamp_seconds(c.at_s + o.offset_s)) >= o.day_from_hour
        and date_part('hour', to_timestamp_seconds(c.at_s + o.offset_s)) < o.day_until_hour then 'day'
      else 'night'
    end
  end as group_name
from cases c
left join births b on b.infant_id = c.infant_id
left join local_offsets o on c.at_s >= o.from_s and c.at_s < o.to_s
