-- title: Rows that wait: of babies not in the birth register, without a time, and tests before birth
-- grain: one row per row that is in no table for what other rows say
-- reads: held_looked_at, held_as_before
-- choices: They are in no measure and are judged again at every load that changes anything of
--   their id or their baby.
select * from held_looked_at
union all
select * from held_as_before
order by table_name, load, seq
