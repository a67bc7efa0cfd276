-- title: Treatment and exchange line of the babies of a case review, by age
-- grain: one row per baby and straight piece of its line
-- reads: cases_to_review, births, protocol_versions, protocol_limits, protocol_lines, protocol_codes
-- choices: As tests are judged: by completed weeks, by risk where the standard has one, unknown risk as
--   the protocol says, each age by the protocol then in force. from_s and to_s bound the ages a version judges; the piece's own
--   ends are age_from_s and age_to_s. A baby without birth time, gestation or line has no row.
with babies as (
  select distinct b.infant_id, b.born_s, b.gestation_weeks, nullif(b.risk_factors, '') as risk_factors
  from births b
  join cases_to_review c on c.infant_id = b.infant_id
  where b.born_s is not null
),
at_risk as (
  select distinct b.infant_id, c.version
  from babies b
  join protocol_codes c
    on c.purpose = 'line_risk_factor' and strpos(concat(';', b.risk_factors, ';'), concat(';', c.code, ';')) > 0
)
select
  b.infant_id, v.from_s - b.born_s as from_s, v.to_s - b.born_s as to_s, p.age_from_s, p.age_to_s,
  p.phototherapy_from_micro, p.phototherapy_to_micro, p.exchange_from_micro, p.exchange_to_micro
from babies b
cross join protocol_versions v
join protocol_limits l on l.version = v.version
left join at_risk r on r.infant_id = b.infant_id and r.version = v.version
join protocol_lines p
  on p.standard = v.standard and p.gestation_weeks = b.gestation_weeks
  and p.risk in ('any', case
    when r.infant_id is not null then 'present'
    when b.risk_factors is null then l.unknown_line_risk
    else 'absent'
  end)
where p.age_from_s < v.to_s - b.born_s and p.age_to_s > v.from_s - b.born_s
order by b.infant_id, v.version, p.age_from_s
