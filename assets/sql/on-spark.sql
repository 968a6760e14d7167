-- The tables below the folder `tables` of this directory, for `questions.sql` on Apache Spark.
create or replace temp view sittings using parquet options (path 'tables/sittings', mergeSchema 'true');
create or replace temp view answers using parquet options (path 'tables/answers', mergeSchema 'true');
create or replace temp view notes using parquet options (path 'tables/notes', mergeSchema 'true');
