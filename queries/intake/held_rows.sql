-- title: Rows that wait: of babies not in the birth register, without a time, and tests before birth
-- grain: one row per row that is in no table for what other rows say
-- reads: versions, fates, held_before, affected
-- choices: They are in no measure and are judged again at every load that changes anything of
--   their id or their baby.
with waiting as (
  select
    $table as table_name, v.row_id, v.of_infant_id as infant_id,
    case f.fate when 'held' then 'unknown_baby' else f.fate end as reason,
    case f.fate
      when 'held' then 'load the birth of this baby; the row is then taken in by itself'
      when 'incomplete' then 'load the record that says when; the row is then taken in by itself'
      else 'check the time of the test and of the birth at the source'
    end as remedy,
    v.file, v.line, v.load
  from versions v
  join fates f on f.load = v.load and f.seq = v.seq and f.fate in ('held', 'incomplete', 'before_birth')
  union all
  select h.table_name, h.row_id, h.infant_id, h.reason, h.remedy, h.file, h.line, h.load
  from held_before h
  left anti join affected a on a.row_id = h.row_id
  where h.table_name = $table
)
select * from waiting
order by load, file, line, row_id
