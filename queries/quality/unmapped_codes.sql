-- title: The newest load brought codes or words that no table takes
-- grain: one row per finding: one file of the newest load
-- reads: unmapped_codes, ledger
-- level: warn
-- choices: Told for the newest load only: what an earlier one brought was told then. Lines that a
--   source declares as totals are no codes. Many codes are rightly not ours; one that is new may be
--   a test under another name. Of codes met equally often the first in the alphabet is named; its
--   words are not, as a source may write anything there, nor a code that is an address, as it may
--   hold an id. A file is named with its last folder. n counts records.
with newest as (
  select max(load) as load
  from (
    select load from ledger
    union all
    select load from unmapped_codes
  )
),
told as (
  select u.file, u.system, u.code, sum(u.records) as records
  from unmapped_codes u
  join newest w on w.load = u.load
  where u.system <> 'total_lines'
  group by u.file, u.system, u.code
),
ranked as (
  select
    *,
    row_number() over (partition by file order by records desc, system, code) as place,
    count(*) over (partition by file) as codes,
    sum(records) over (partition by file) as all_records
  from told
)
select
  case
    when strpos(r.file, '/') > 0 then concat(split_part(r.file, '/', -2), '/', split_part(r.file, '/', -1))
    else r.file
  end as about,
  cast(null as varchar) as month,
  concat(
    cast(r.codes as varchar), case when r.codes = 1 then ' code' else ' codes' end,
    ' in ', cast(r.all_records as varchar),
    case when r.all_records = 1 then ' record' else ' records' end, ' that no table takes; most often ',
    case when strpos(r.code, '/') > 0 then 'an address' when r.code = '' then r.system else r.code end,
    ', ', cast(r.records as varchar),
    case when r.records = 1 then ' time' else ' times' end
  ) as found,
  cast(r.all_records as bigint) as n
from ranked r
where r.place = 1
order by r.file
