//! Looking ahead: alpha-beta with a quiet search over captures, and the choice of a move
//! by a player who may misjudge. Counts positions, never time, so that it is repeatable.

use shakmaty::{Chess, EnPassantMode, Move, MoveList, Position, zobrist::Zobrist64};

use super::evaluation::{evaluate, middle, worth};
use super::level::Level;
use crate::chance::Chance;

/// Worth of being mated at once; mates further off are worth a little less.
pub const MATE: i32 = 30_000;
/// Anything beyond is a mate in sight.
pub const MATE_SEEN: i32 = MATE - 200;
/// Captures followed at most beyond the search.
const QUIET_PLIES: u32 = 6;
/// Plies from the root beyond which checks are no longer followed.
const CHECK_PLIES: i32 = 7;

/// A move chosen, and what the player thought of it.
#[derive(Clone, Copy, Debug)]
pub struct Choice {
    /// The move played.
    pub played: Move,
    /// Its worth for the player on move.
    pub score: i32,
    /// The best move by the same search.
    pub best: Move,
    /// The best move's worth.
    pub best_score: i32,
    /// The second-best move's worth (a bound where it is far behind); the best one's where
    /// there is no other.
    pub next_score: i32,
}

/// A key for a position, equal for repeated ones.
pub fn key(position: &Chess) -> u64 {
    let Zobrist64(key) = position.zobrist_hash(EnPassantMode::Legal);
    key
}

/// Chooses a move; `None` where there is none. `past` are the keys of all positions so
/// far, this one included.
pub fn choose(position: &Chess, past: &[u64], level: Level, chance: &mut Chance) -> Option<Choice> {
    let mut lines = Vec::new();
    let mut search = Search {
        nodes: 0,
        limit: level.nodes,
        favourites: vec![0; 64 * 64],
    };
    for played in position.legal_moves() {
        let mut next = position.clone();
        next.play_unchecked(played);
        let draw = next.halfmoves() >= 100
            || next.is_insufficient_material()
            || past.contains(&key(&next));
        let settled = if next.legal_moves().is_empty() {
            Some(if next.is_check() { MATE - 1 } else { 0 })
        } else {
            draw.then_some(0)
        };
        // What a glance says: a first order, and the whole judgement of a rash move.
        let score = settled.unwrap_or_else(|| -evaluate(&next));
        lines.push(Line {
            played,
            next,
            settled,
            score,
        });
    }
    lines.sort_by_key(|line| -line.score);
    if lines.len() > 1 && chance.permille(level.rash) {
        return Some(judged(&lines, level.noise * 2 + 60, chance));
    }
    // Moves further behind than twice the noise cannot be chosen: a bound is enough.
    let margin = (level.noise * 2 + 1).max(40);
    for depth in 1..=level.depth {
        let mut best = -MATE;
        let mut fresh = lines.clone();
        let mut whole = true;
        for line in &mut fresh {
            let floor = (best - margin).max(-MATE);
            line.score = line
                .settled
                .unwrap_or_else(|| -search.look(&line.next, depth - 1, 1, -MATE, -floor));
            best = best.max(line.score);
            if depth > 1 && search.nodes > search.limit {
                whole = false;
                break;
            }
        }
        if !whole {
            break;
        }
        fresh.sort_by_key(|line| -line.score);
        lines = fresh;
        if best > MATE_SEEN {
            break;
        }
    }
    (!lines.is_empty()).then(|| judged(&lines, level.noise, chance))
}

#[derive(Clone)]
struct Line {
    played: Move,
    next: Chess,
    /// The score where the game ends here (mate, draw).
    settled: Option<i32>,
    score: i32,
}

fn judged(lines: &[Line], noise: i32, chance: &mut Chance) -> Choice {
    let best = &lines[0];
    let mut chosen = best;
    let mut most = i32::MIN;
    for line in lines {
        let seen = if line.score.abs() > MATE_SEEN {
            line.score
        } else {
            line.score + chance.around(noise)
        };
        if seen > most {
            most = seen;
            chosen = line;
        }
    }
    Choice {
        played: chosen.played,
        score: chosen.score,
        best: best.played,
        best_score: best.score,
        next_score: lines.get(1).unwrap_or(best).score,
    }
}

struct Search {
    nodes: u32,
    limit: u32,
    /// How often a move from here to there has cut a line short.
    favourites: Vec<u32>,
}

impl Search {
    fn look(&mut self, position: &Chess, depth: u32, ply: i32, floor: i32, ceiling: i32) -> i32 {
        // A check is answered before the position is judged, so that mates are seen.
        if depth == 0 && (ply > CHECK_PLIES || !position.is_check()) {
            return self.quiet(position, QUIET_PLIES, floor, ceiling);
        }
        let depth = depth.max(1);
        self.nodes += 1;
        if position.is_insufficient_material() || position.halfmoves() >= 100 {
            return 0;
        }
        let moves = position.legal_moves();
        if moves.is_empty() {
            return if position.is_check() { ply - MATE } else { 0 };
        }
        // Beyond one and a half times the limit the result is thrown away anyway.
        if self.nodes > self.limit + self.limit / 2 {
            return evaluate(position);
        }
        let mut floor = floor;
        let mut best = -MATE;
        for played in self.ordered(moves) {
            let mut next = position.clone();
            next.play_unchecked(played);
            let score = -self.look(&next, depth - 1, ply + 1, -ceiling, -floor);
            best = best.max(score);
            floor = floor.max(score);
            if floor >= ceiling {
                if !played.is_capture() {
                    self.favourites[place(played)] += depth * depth;
                }
                break;
            }
        }
        best
    }

    fn quiet(&mut self, position: &Chess, left: u32, floor: i32, ceiling: i32) -> i32 {
        self.nodes += 1;
        let standing = evaluate(position);
        if left == 0 || standing >= ceiling {
            return standing;
        }
        let mut floor = floor.max(standing);
        let mut best = standing;
        for played in self.ordered(position.capture_moves()) {
            // Even with the piece in hand it would not reach the floor.
            let gain = played.capture().map_or(0, worth) + played.promotion().map_or(0, worth);
            if standing + gain + 120 < floor {
                continue;
            }
            let mut next = position.clone();
            next.play_unchecked(played);
            let score = -self.quiet(&next, left - 1, -ceiling, -floor);
            best = best.max(score);
            floor = floor.max(score);
            if floor >= ceiling {
                break;
            }
        }
        best
    }

    fn ordered(&self, moves: MoveList) -> Vec<Move> {
        let mut keyed: Vec<(i32, Move)> = moves
            .into_iter()
            .map(|played| {
                let mut rank = played.promotion().map_or(0, worth) * 16;
                if let Some(captured) = played.capture() {
                    rank += 20_000 + worth(captured) * 16 - worth(played.role());
                } else {
                    rank += (self.favourites[place(played)].min(4000)) as i32;
                    rank += middle(played.to());
                }
                (-rank, played)
            })
            .collect();
        // A stable sort: equal ranks stay in the order they were made in.
        keyed.sort_by_key(|(rank, _)| *rank);
        keyed.into_iter().map(|(_, played)| played).collect()
    }
}

fn place(played: Move) -> usize {
    let from = played.from().map_or(0, usize::from);
    from * 64 + usize::from(played.to())
}

#[cfg(test)]
mod tests {
    use super::*;
    use shakmaty::CastlingMode;
    use shakmaty::fen::Fen;
    use shakmaty::san::San;

    fn best(fen: &str) -> (String, Choice) {
        let position: Chess = fen
            .parse::<Fen>()
            .expect("the test's FEN reads")
            .into_position(CastlingMode::Standard)
            .expect("the test's position is possible");
        let choice = choose(
            &position,
            &[key(&position)],
            Level::COMMENTATOR,
            &mut Chance::new(0, 0),
        )
        .expect("there is a move");
        (San::from_move(&position, choice.played).to_string(), choice)
    }

    #[test]
    fn finds_a_mate_in_one_and_in_two() {
        let (one, choice) = best("6k1/5ppp/8/8/8/8/8/R3K3 w - - 0 1");
        assert_eq!(one, "Ra8");
        assert_eq!(choice.score, MATE - 1);
        let (two, choice) = best("5r1k/6pp/7N/8/2Q5/8/6PP/6K1 w - - 0 1");
        assert_eq!(two, "Qg8");
        assert!(choice.score > MATE_SEEN);
    }

    #[test]
    fn does_not_take_a_guarded_pawn_with_a_queen() {
        let (played, _) = best("4k3/8/2p5/3p4/8/8/3Q4/4K3 w - - 0 1");
        assert_ne!(played, "Qxd5");
    }

    #[test]
    fn takes_what_hangs() {
        let (played, choice) = best("4k3/8/8/3r4/8/8/3Q4/4K3 w - - 0 1");
        assert_eq!(played, "Qxd5");
        assert!(choice.best_score > choice.next_score);
    }
}
