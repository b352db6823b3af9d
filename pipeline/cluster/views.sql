-- Views over the tables, for Spark SQL and DuckDB alike. Open `games`, `moves`, `spells` and
-- `exposure` first (open_tables.py does so for Spark). All words are those of
-- schemas/definitions.md.

-- Restriction spells once for each k they hold for.
CREATE OR REPLACE TEMPORARY VIEW spells_at AS
SELECT ks.k, spells.*
FROM spells
JOIN (VALUES (0), (1), (2), (3), (4)) AS ks (k)
  ON spells.k_low <= ks.k AND ks.k <= spells.k_high;

-- What became of restricted pieces, by k and kind: within 10 moves from the start of the
-- spell, and in the rest of the game. A piece counts once for each of its spells.
CREATE OR REPLACE TEMPORARY VIEW losses_by_kind AS
SELECT
  k,
  kind,
  count(*) AS spells,
  count(CASE WHEN fate = 'lost' AND fate_ply <= start_ply + 20 THEN 1 END) AS lost_10,
  count(CASE WHEN fate = 'traded' AND fate_ply <= start_ply + 20 THEN 1 END) AS traded_10,
  count(CASE WHEN fate = 'sold' AND fate_ply <= start_ply + 20 THEN 1 END) AS sold_10,
  count(CASE WHEN fate = 'lost' THEN 1 END) AS lost
FROM spells_at
GROUP BY k, kind;

-- What restricted pieces, and how often they were freed.
CREATE OR REPLACE TEMPORARY VIEW causes AS
SELECT
  k,
  kind,
  cause,
  cause_by,
  cause_kind,
  count(*) AS spells,
  count(CASE WHEN ended = 'freed' THEN 1 END) AS freed,
  sum(turns) AS turns
FROM spells_at
GROUP BY k, kind, cause, cause_by, cause_kind;

-- Safe squares taken from and given to the opponent, by kind of mover and stretch of ten
-- moves (1 is moves 1 to 10).
CREATE OR REPLACE TEMPORARY VIEW squares_taken AS
SELECT
  mover,
  CAST(floor((ply - 1) / 20.0) AS INT) + 1 AS stretch,
  count(*) AS plies,
  sum(taken) AS taken,
  sum(given) AS given,
  sum(own_taken) AS own_taken,
  sum(own_given) AS own_given
FROM moves
GROUP BY mover, CAST(floor((ply - 1) / 20.0) AS INT) + 1;

-- Observations of pieces with s safe squares and what became of them within 10 moves, by
-- kind, phase and rating band: the exposure of every part and archive added up.
CREATE OR REPLACE TEMPORARY VIEW held AS
SELECT
  kind,
  safe,
  developed,
  phase,
  band,
  sum(turns) AS turns,
  sum(lost_10) AS lost_10,
  sum(traded_10) AS traded_10,
  sum(sold_10) AS sold_10,
  sum(over_10) AS over_10
FROM exposure
GROUP BY kind, safe, developed, phase, band;
