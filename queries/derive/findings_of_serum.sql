-- title: What a review looks at for its value
-- grain: one row per baby and finding: its first serum that is severe, and its highest that may be above the line
-- order: month, infant_id, case_key
-- kept: while deriving
-- reads: judged_serum, lowest_lines, known_until, protocol_bands
-- looks back: not at all
-- looks ahead: not at all
-- choices: At any age, without birth time too. Severe: a valid serum above the exchange line or in a band;
--   the highest band is as grave as the exchange line. Possibly above the line, by one reason for each baby,
--   at its highest serum: a value reported as above a number that is not above the line; a preliminary
--   result or a specimen that does not count, above the line; no line, as birth time or gestation is not
--   known or the standard has none, and a value at or above the lowest line that what is known allows.
with serum as (
  select s.*, t.top_micro
  from judged_serum s
  cross join known_until u
  left join (select version, max(limit_micro) as top_micro from protocol_bands group by version) t on t.version = s.version
  where s.known_from_s <= u.serum_s and s.value_micro is not null and s.is_total
),
severe as (
  select 'above_exchange_line' as band, 1 as grade, specimen_id
  from serum
  where is_valid and is_above_exchange_line
  union all
  select b.name, case when b.limit_micro = s.top_micro then 1 else 2 end, s.specimen_id
  from serum s
  join protocol_bands b
    on b.version = s.version
    and ((b.band_when = 'above' and s.compare_micro > b.limit_micro)
      or (b.band_when = 'at_least' and s.compare_micro >= b.limit_micro))
  where s.is_valid
),
possibly as (
  select
    s.specimen_id,
    case
      when s.line_micro is null and s.age_s is null then 'birth_time_unknown'
      when s.line_micro is null and s.gestation_days is null then 'gestation_unknown'
      when s.line_micro is null then 'no_line'
      when s.is_valid and s.bound = '>' then 'bound'
      when s.status = 'preliminary' then 'preliminary'
      else 'specimen'
    end as outcome
  from serum s
  left join lowest_lines l on l.test_table = 'serum' and l.test_id = s.specimen_id
  where s.status <> 'cancelled' and coalesce(s.specimen, '') not in ('cord', 'urine')
    and case
      when s.line_micro is null then coalesce(s.compare_micro >= l.lowest_micro, true)
      when s.is_valid then s.bound = '>' and not s.is_above_line
      else s.is_above_line
    end
),
found as (
  select concat('severe_jaundice_', v.band) as finding, v.grade, cast(null as varchar) as outcome, s.*,
    row_number() over (partition by s.infant_id, v.band order by s.collected_s, s.specimen_id) as place
  from severe v
  join serum s on s.specimen_id = v.specimen_id
  union all
  select 'possibly_above_line', 2, p.outcome, s.*,
    row_number() over (partition by s.infant_id, p.outcome order by s.compare_micro desc, s.collected_s, s.specimen_id)
  from possibly p
  join serum s on s.specimen_id = p.specimen_id
)
select
  grade, finding, outcome,
  concat(finding, '/', case when outcome is not null then concat(outcome, '/') else '' end, specimen_id) as case_key,
  'serum' as fact_table, specimen_id as fact_id, cast(null as varchar) as beside, infant_id, unit, collected_s as at_s, month
from found
where place = 1
