-- title: Rows not loaded before
-- grain: one row per accepted row of this load that no earlier row repeats
-- reads: staged, versions
-- choices: An exact duplicate has the same cells in the same table as any row ever accepted. Of
--   repeats within a load the first stays. The same query finds new rows among those set aside.
with numbered as (
  select s.*, row_number() over (partition by s.row_hash order by s.seq) as place
  from staged s
  left anti join versions v on v.row_hash = s.row_hash
)
select * except (place) from numbered
where place = 1
order by seq
