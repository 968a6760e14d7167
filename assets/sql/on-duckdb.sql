-- The tables below the folder `tables` of this directory, for `questions.sql` on DuckDB.
set max_temp_directory_size = '8GB';
create or replace temp view sittings as select * from read_parquet('tables/sittings/*/*/*.parquet', union_by_name = true);
create or replace temp view answers as select * from read_parquet('tables/answers/*/*/*.parquet', union_by_name = true);
create or replace temp view notes as select * from read_parquet('tables/notes/*/*/*.parquet', union_by_name = true);
