-- Tables with the columns that follow from others and are not in their files. Made from the
-- schemas (`hobble schema views`); do not edit.
--
-- For DuckDB, in the folder of the tables: duckdb -init views.sql
-- For Spark write parquet.`spells` for read_parquet('spells/*/*.parquet', hive_partitioning = true),
-- and so for games.

CREATE OR REPLACE VIEW spells AS
SELECT
  spells.*,
  CAST(CASE WHEN spells.cause_by = 'opponent' THEN spells.start_ply WHEN spells.cause_by = 'own' THEN spells.start_ply - 1 ELSE NULL END AS SMALLINT) AS cause_ply,
  CAST(spells.reach - spells.barred AS TINYINT) AS legal,
  spells.defenders >= 1 AS defended,
  CASE WHEN spells.ended = 'freed' THEN CASE WHEN spells.moved_away IS NULL THEN 'opponent' ELSE 'own' END ELSE NULL END AS end_by,
  CAST(CASE WHEN CASE WHEN spells.ended = 'freed' THEN CASE WHEN spells.moved_away IS NULL THEN 'opponent' ELSE 'own' END ELSE NULL END = 'own' THEN spells.start_ply + (spells.turns + spells.turns) - 1 WHEN CASE WHEN spells.ended = 'freed' THEN CASE WHEN spells.moved_away IS NULL THEN 'opponent' ELSE 'own' END ELSE NULL END = 'opponent' THEN spells.start_ply + (spells.turns + spells.turns) WHEN spells.ended = 'game over' THEN games.plies ELSE spells.fate_ply END AS SMALLINT) AS end_ply,
  CAST(games.plies - spells.start_ply AS SMALLINT) AS plies_left,
  CASE WHEN games.result = '1/2-1/2' THEN 'draw' WHEN games.result = '*' THEN 'unknown' WHEN spells.color = 'white' THEN CASE WHEN games.result = '1-0' THEN 'win' ELSE 'loss' END ELSE CASE WHEN games.result = '0-1' THEN 'win' ELSE 'loss' END END AS owner_result,
  CASE WHEN spells.color = 'white' THEN games.white_band ELSE games.black_band END AS band,
  CASE WHEN CASE WHEN spells.color = 'white' THEN games.white_rating - games.black_rating ELSE games.black_rating - games.white_rating END IS NULL THEN 'unknown' WHEN CASE WHEN spells.color = 'white' THEN games.white_rating - games.black_rating ELSE games.black_rating - games.white_rating END >= 200 THEN '>=200' WHEN CASE WHEN spells.color = 'white' THEN games.white_rating - games.black_rating ELSE games.black_rating - games.white_rating END >= 50 THEN '50..199' WHEN CASE WHEN spells.color = 'white' THEN games.white_rating - games.black_rating ELSE games.black_rating - games.white_rating END >= -49 THEN '-49..49' WHEN CASE WHEN spells.color = 'white' THEN games.white_rating - games.black_rating ELSE games.black_rating - games.white_rating END >= -199 THEN '-199..-50' ELSE '<=-200' END AS rating_diff,
  games.time_class AS time_class
FROM read_parquet('spells/*/*.parquet', hive_partitioning = true) AS spells
JOIN read_parquet('games/*/*.parquet', hive_partitioning = true) AS games USING (source, game);
