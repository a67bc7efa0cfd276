-- title: Files loaded before
-- grain: one row per content of a file
-- reads: ledger
select distinct sha256 from ledger
where sha256 is not null
order by sha256
