-- title: Severe jaundice: the first serum of a baby in each band, near and above the exchange line, exchange
--   transfusion, kernicterus code
-- grain: one row per baby and kind of case
-- order: month, infant_id, case_kind
-- reads: judged_serum, exchanges, stays, known_births, known_until, protocol_limits, protocol_bands, protocol_codes
-- looks back: not at all
-- looks ahead: not at all
-- choices: Data end is the earliest of the tables a kind needs (births and serum, exchanges or
--   stays); what happened later does not exist yet. A band counts the first valid serum in it, by
--   time, then id, up to the protocol's age; a bound counts as just more, or just less. The
--   exchange line is passed as the treatment line is: when greater, or already when equal. Near it is
--   a serum above the line, by no more than the protocol's margin below the exchange line, of a baby with
--   none above that before. Without
--   a birth time the age is unknown: the first serum in the band is left out; of the exchange
--   line the first serum of a baby none of whose serum has one. Exchanges and codes are counted at
--   any age, a code at any place of the diagnoses. Month is that of the serum, exchange or
--   admission; unit is the unit of birth.
with serum as (
  select
    s.infant_id, s.specimen_id, s.collected_s, s.age_s, s.gestation_days, s.compare_micro, s.exchange_line_micro,
    s.is_above_exchange_line, s.is_above_line, s.version, s.month,
    s.age_s >= l.near_exchange_from_s and s.compare_micro >= s.exchange_line_micro - l.near_exchange_micro as is_near,
    min(case when s.is_above_exchange_line then s.collected_s end) over (partition by s.infant_id) as first_above_s
  from judged_serum s
  cross join known_until u
  join protocol_limits l on l.version = s.version
  where s.is_valid and s.known_from_s <= u.serum_s and coalesce(s.age_s <= l.severe_age_at_most_s, true)
),
in_band as (
  select
    b.name as case_kind, s.infant_id, s.specimen_id as case_id, s.collected_s as case_s, s.month,
    case when s.age_s is null then 'birth_time_unknown' end as left_out
  from serum s
  join protocol_bands b
    on b.version = s.version
    and ((b.band_when = 'above' and s.compare_micro > b.limit_micro)
      or (b.band_when = 'at_least' and s.compare_micro >= b.limit_micro))
  union all
  select
    'above_exchange_line', infant_id, specimen_id, collected_s, month,
    case
      when is_above_exchange_line then null
      when age_s is null then 'birth_time_unknown'
      when gestation_days is null then 'gestation_unknown'
      else 'no_line'
    end
  from serum
  where is_above_exchange_line or exchange_line_micro is null
  union all
  select
    'near_exchange_line', infant_id, specimen_id, collected_s, month,
    case
      when exchange_line_micro is not null then null
      when age_s is null then 'birth_time_unknown'
      when gestation_days is null then 'gestation_unknown'
      else 'no_line'
    end
  from serum
  where exchange_line_micro is null
    or (is_near and is_above_line and not is_above_exchange_line and coalesce(collected_s <= first_above_s, true))
  union all
  select 'exchange_transfusion', x.infant_id, x.exchange_id, x.performed_s, x.month, null
  from exchanges x
  cross join known_until u
  join known_births b on b.infant_id = x.infant_id and b.birth_s <= u.exchanges_s
  where x.performed_s <= u.exchanges_s
  union all
  select 'kernicterus_code', s.infant_id, s.stay_id, s.admitted_s, s.month, null
  from stays s
  cross join known_until u
  join known_births b on b.infant_id = s.infant_id and b.birth_s <= u.stays_s
  join protocol_limits l on s.admitted_s >= l.from_s and s.admitted_s < l.to_s
  join protocol_codes c
    on c.version = l.version and c.purpose = 'kernicterus'
    and strpos(concat(';', replace(replace(upper(s.diagnoses), '.', ''), ' ', '')), concat(';', c.code)) > 0
  where s.admitted_s <= u.stays_s
),
placed as (
  select
    *,
    row_number() over (
      partition by infant_id, case_kind, case when left_out is not null then month end order by case_s, case_id
    ) as place
  from in_band
)
select
  p.infant_id, p.case_kind, p.case_id, p.case_s, b.unit, p.left_out, p.month
from placed p
join known_births b on b.infant_id = p.infant_id
where p.place = 1
