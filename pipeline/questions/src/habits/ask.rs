//! From question, player and tables to what is said of the player.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use shakmaty::Color;

use crate::answer::QuestionText;
use crate::error::AskError;
use crate::habits::answer::{
    FORMAT, Found, Group, HabitsAnswer, Left, Measure, Parameters, PeersFound, Replies, Section,
};
use crate::habits::games_to_see::{self, Candidate};
use crate::habits::measures::{self, GROUPED, SECTIONS};
use crate::habits::missed::{self, Replay, Turn};
use crate::habits::notes;
use crate::habits::peers::{self, Sides};
use crate::habits::sides::{self, Cell, Own, Peers, Places, Stratum};
use crate::habits::tally::{COUNTS, Count, Counts, OwnSpell, TURNS, Tally, Turns};
use crate::habits::trend;
use crate::habits::{Habits, Player};
use crate::locate;
use crate::replay;
use crate::row::LEVEL;
use crate::words;
use hobble_dataset::Dataset;

/// Says what the tables tell of a player. Peers come from `peers`, or where that is not given
/// from the same tables.
///
/// # Errors
///
/// Where no game is by the player's name or an alias, or a table is missing, unreadable or
/// inconsistent.
pub fn answer(
    habits: &Habits,
    dataset: &Dataset,
    player: &Player,
    peers: Option<&Dataset>,
) -> Result<HabitsAnswer, AskError> {
    let mut own = sides::own(dataset, player)?;
    if own.games.is_empty() {
        return Err(AskError::Player {
            name: player.name.clone(),
            what: "in every game by this name both sides bear it, so no side can be told"
                .to_owned(),
        });
    }
    let strata: BTreeSet<Stratum> = own
        .games
        .iter()
        .map(|game| game.cell.stratum.clone())
        .collect();
    let strata: Vec<Stratum> = strata.into_iter().collect();
    let theirs = sides::peers(
        peers.unwrap_or(dataset),
        &mut own.known,
        &strata.iter().cloned().collect(),
    )?;
    let tally = Tally::of(
        habits,
        dataset,
        &Places::of_own(&own.games),
        own.games.len(),
        &theirs,
        peers,
    )?;
    let compared = Compared {
        habits,
        own: &own,
        strata: &strata,
        peers: &theirs,
        tally: &tally,
    };
    let all = compared.sides(|_| true);
    let sections: Vec<Section> = SECTIONS
        .iter()
        .map(|(title, wanted)| Section {
            title: (*title).to_owned(),
            measures: wanted
                .iter()
                .map(|one| peers::measure(habits, one, &all))
                .collect(),
        })
        .collect();
    let dated: Vec<(Option<&str>, &Counts)> = own
        .games
        .iter()
        .zip(&tally.own)
        .map(|(game, counts)| (game.date.as_deref(), counts))
        .collect();
    let (replies, games) = replies_and_games(habits, dataset, &own, &tally)?;
    let mut answer = HabitsAnswer {
        format: FORMAT,
        hobble: env!("CARGO_PKG_VERSION").to_owned(),
        definitions: dataset.definitions(),
        question: QuestionText {
            name: habits.name.clone(),
            title: habits.title.clone(),
            text: habits.text.clone(),
        },
        parameters: Parameters {
            k: habits.k,
            within: habits.within,
            long: habits.long,
            minimum_games: habits.minimum_games,
            minimum_event_games: habits.minimum_event_games,
            replies_turns: habits.replies_turns,
            level: LEVEL,
        },
        player: found(player, &own, &strata),
        peers: PeersFound {
            own_tables: peers.is_some(),
            sides: theirs.sides.iter().flatten().sum(),
            names: theirs.names,
            games_without: compared.games_without_peers(),
            dataset: peers.map(|peers| peers.summary().clone()),
        },
        dataset: dataset.summary().clone(),
        verdicts: verdicts(&sections, own.games.len(), habits),
        sections,
        groups: compared.groups(),
        left: Left {
            you: median(&[(1.0, &tally.own_turns)]),
            peers: compared.peers_median(),
        },
        replies,
        trend: trend::trend(habits, &dated, &measures::HELD, &measures::LOST_WITHIN),
        games,
        games_rule: games_to_see::RULE.to_owned(),
        methods: notes::methods(),
        notes: Vec::new(),
    };
    answer.notes = notes::notes(&answer, dataset, peers);
    Ok(answer)
}

/// What figures are worked out from.
struct Compared<'a> {
    habits: &'a Habits,
    own: &'a Own,
    strata: &'a [Stratum],
    peers: &'a Peers,
    tally: &'a Tally,
}

impl Compared<'_> {
    fn stratum(&self, cell: &Cell) -> usize {
        self.strata.binary_search(&cell.stratum).unwrap_or(0)
    }

    fn sides(&self, of: impl Fn(&Cell) -> bool) -> Sides<'_> {
        let own = self
            .own
            .games
            .iter()
            .zip(&self.tally.own)
            .filter(|(game, _)| of(&game.cell))
            .map(|(game, counts)| (self.stratum(&game.cell), counts))
            .collect();
        let mut peers = vec![vec![[0; COUNTS]; 64]; self.strata.len()];
        for (number, cell) in self.peers.cells.iter().enumerate() {
            if of(cell) {
                let stratum = self.stratum(cell);
                let from = &self.tally.peers[number * 64..][..64];
                for (to, from) in peers[stratum].iter_mut().zip(from) {
                    for (to, from) in to.iter_mut().zip(from) {
                        *to += from;
                    }
                }
            }
        }
        Sides { own, peers }
    }

    fn games_without_peers(&self) -> u64 {
        let with: BTreeSet<&Stratum> = self.peers.cells.iter().map(|cell| &cell.stratum).collect();
        self.own
            .games
            .iter()
            .filter(|game| !with.contains(&game.cell.stratum))
            .count() as u64
    }

    fn peers_median(&self) -> Option<u64> {
        let mut turns: Vec<Turns> = vec![[0; TURNS + 1]; self.strata.len()];
        for (cell, counts) in self.peers.cells.iter().zip(&self.tally.peer_turns) {
            for (to, from) in turns[self.stratum(cell)].iter_mut().zip(counts) {
                *to += from;
            }
        }
        let weighted: Vec<(f64, &Turns)> = turns
            .iter()
            .enumerate()
            .filter_map(|(stratum, turns)| {
                let spells: u64 = turns.iter().sum();
                let games = self
                    .own
                    .games
                    .iter()
                    .filter(|game| self.stratum(&game.cell) == stratum);
                (spells > 0).then(|| (games.count() as f64 / spells as f64, turns))
            })
            .collect();
        median(&weighted)
    }

    fn groups(&self) -> Vec<Group> {
        let mut groups = Vec::new();
        for (label, white) in [("White", true), ("Black", false)] {
            groups.extend(self.group("colour", label.to_owned(), |cell| cell.white == white));
        }
        let openings: BTreeSet<Option<char>> = self
            .own
            .games
            .iter()
            .map(|game| game.cell.opening)
            .collect();
        // Games without a code come last.
        let (with, without): (Vec<_>, Vec<_>) = openings.into_iter().partition(Option::is_some);
        for opening in with.into_iter().chain(without) {
            let label = opening.map_or_else(
                || "no ECO code".to_owned(),
                |letter| format!("ECO {letter}"),
            );
            groups.extend(self.group("opening", label, |cell| cell.opening == opening));
        }
        groups
    }

    fn group(&self, by: &str, label: String, of: impl Fn(&Cell) -> bool) -> Option<Group> {
        let sides = self.sides(of);
        let measures: Vec<Measure> = GROUPED
            .iter()
            .map(|one| peers::measure(self.habits, one, &sides))
            .collect();
        (!sides.own.is_empty()).then(|| Group {
            by: by.to_owned(),
            label,
            games: sides.own.len() as u64,
            measures,
        })
    }
}

/// The least number of turns that half of the weighted spells do not go beyond.
fn median(weighted: &[(f64, &Turns)]) -> Option<u64> {
    let total: f64 = weighted
        .iter()
        .map(|(weight, turns)| weight * turns.iter().sum::<u64>() as f64)
        .sum();
    let mut sum = 0.0;
    (0..=TURNS)
        .find(|&turns| {
            sum += weighted
                .iter()
                .map(|(weight, counts)| weight * counts[turns] as f64)
                .sum::<f64>();
            total > 0.0 && sum * 2.0 >= total * (1.0 - 1e-12)
        })
        .map(|turns| turns as u64)
}

fn found(player: &Player, own: &Own, strata: &[Stratum]) -> Found {
    Found {
        name: player.name.clone(),
        aliases: player.aliases.clone(),
        spellings: own.spellings.clone(),
        games: own.games.len() as u64,
        white: own.games.iter().filter(|game| game.cell.white).count() as u64,
        both_sides: own.both,
        strata: strata
            .iter()
            .map(|stratum| {
                let games = own
                    .games
                    .iter()
                    .filter(|game| game.cell.stratum == *stratum)
                    .count();
                (
                    stratum.band.clone(),
                    stratum.time_class.clone(),
                    games as u64,
                )
            })
            .collect(),
    }
}

/// What stands out: figures whose interval lies apart from the peers'.
fn verdicts(sections: &[Section], games: usize, habits: &Habits) -> Vec<String> {
    if (games as u64) < habits.minimum_games {
        return vec![format!(
            "Too few games to tell: {} where {} are asked for. The counts and the games below are what there is.",
            words::counted(games as u64, "game"),
            habits.minimum_games
        )];
    }
    let apart: Vec<String> = sections
        .iter()
        .flat_map(|section| &section.measures)
        .filter(|measure| {
            measure
                .ratio
                .jackknife
                .is_some_and(|interval| interval.low > 1.0 || interval.high < 1.0)
        })
        .map(|measure| measure.verdict.clone())
        .collect();
    if apart.is_empty() {
        vec!["In none of the figures do these games tell the player from the peers.".to_owned()]
    } else {
        apart
    }
}

/// Spells whose replies are played out: lost ones, game by game in the order of their ids,
/// until the turns are used up. Also whether all of them are.
fn sample<'a>(habits: &Habits, own: &Own, lost: &[&'a OwnSpell]) -> Vec<&'a OwnSpell> {
    let mut sorted = lost.to_vec();
    sorted.sort_by_key(|spell| {
        (
            own.games[spell.game].game_id,
            spell.game,
            spell.start_ply,
            spell.piece,
        )
    });
    let mut left = habits.replies_turns as u64;
    sorted
        .into_iter()
        .take_while(|spell| {
            let fits = spell.turns <= left;
            left = left.saturating_sub(spell.turns);
            fits
        })
        .collect()
}

fn replies_and_games(
    habits: &Habits,
    dataset: &Dataset,
    own: &Own,
    tally: &Tally,
) -> Result<(Replies, Vec<crate::habits::answer::GameToSee>), AskError> {
    let lost: Vec<&OwnSpell> = tally
        .spells
        .iter()
        .filter(|spell| spell.end == "lost")
        .collect();
    let sampled = sample(habits, own, &lost);
    let moves = dataset.has("moves");
    // Room for games to look at where the sample does not fill them.
    let candidate = |spell| Candidate {
        spell,
        game: &own.games[spell.game],
        turns: None,
    };
    let in_sample: BTreeSet<usize> = sampled.iter().map(|spell| spell.game).collect();
    let others = tally
        .spells
        .iter()
        .filter(|spell| !in_sample.contains(&spell.game));
    let room = habits.games.saturating_sub(in_sample.len());
    let filling: Vec<&OwnSpell> = games_to_see::choose(others.map(candidate).collect(), room)
        .into_iter()
        .map(|one| one.spell)
        .collect();
    let all: Vec<&OwnSpell> = sampled.iter().chain(&filling).copied().collect();
    let turns = if moves {
        played_out(habits, dataset, own, &all)?
            .into_iter()
            .map(Some)
            .collect()
    } else {
        vec![None; all.len()]
    };
    let candidates = all
        .iter()
        .zip(&turns)
        .map(|(spell, turns)| Candidate {
            spell,
            game: &own.games[spell.game],
            turns: turns.as_deref(),
        })
        .collect();
    let parts = dataset.parts("games")?;
    let games = games_to_see::choose(candidates, habits.games)
        .iter()
        .map(|one| games_to_see::show(one, &parts))
        .collect::<Result<Vec<_>, _>>()?;
    let replies = replies(habits, lost.len(), &sampled, &turns[..sampled.len()]);
    Ok((replies, games))
}

/// The turns of each spell.
fn played_out(
    habits: &Habits,
    dataset: &Dataset,
    own: &Own,
    spells: &[&OwnSpell],
) -> Result<Vec<Vec<Turn>>, AskError> {
    let mut by_game: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (number, spell) in spells.iter().enumerate() {
        by_game.entry(spell.game).or_default().push(number);
    }
    let key = |game: usize| (own.games[game].source.clone(), own.games[game].game);
    let wanted = by_game.keys().map(|&game| key(game)).collect();
    let places = locate::locate(dataset, "moves", &wanted)?;
    let by_game: Vec<(usize, Vec<usize>)> = by_game.into_iter().collect();
    let found: Vec<Vec<(usize, Vec<Turn>)>> = by_game
        .par_iter()
        .map(|(number, of_game)| {
            let game = &own.games[*number];
            let name = format!("game {} of {}", game.game, game.source);
            let place = places
                .get(&key(*number))
                .ok_or_else(|| AskError::bad_table("moves", format!("{name} is not there")))?;
            let plies = replay::read_moves(place)?;
            let replay = Replay {
                start_fen: game.start_fen.clone(),
                color: if game.cell.white {
                    Color::White
                } else {
                    Color::Black
                },
                name,
            };
            of_game
                .iter()
                .map(|&one| Ok((one, missed::turns(&plies, &replay, spells[one], habits.k)?)))
                .collect()
        })
        .collect::<Result<_, AskError>>()?;
    let mut turns = vec![Vec::new(); spells.len()];
    for (number, of_spell) in found.into_iter().flatten() {
        turns[number] = of_spell;
    }
    Ok(turns)
}

fn replies(
    habits: &Habits,
    lost: usize,
    sampled: &[&OwnSpell],
    turns: &[Option<Vec<Turn>>],
) -> Replies {
    let mut replies = Replies {
        left_out: None,
        lost_spells: lost as u64,
        spells: sampled.len() as u64,
        games: 0,
        turns: 0,
        there: 0,
        played: 0,
        missed: 0,
        share: None,
        interval: None,
        verdict: String::new(),
    };
    let mut by_game: BTreeMap<usize, Counts> = BTreeMap::new();
    for (spell, turns) in sampled.iter().zip(turns) {
        let Some(turns) = turns else {
            replies.left_out = Some("the table of moves was not written".to_owned());
            replies.spells = 0;
            replies.verdict =
                "Replies could not be played out: the table of moves was not written.".to_owned();
            return replies;
        };
        let there = turns.iter().filter(|turn| turn.board.replies > 0).count() as u64;
        let played = turns.iter().filter(|turn| turn.played).count() as u64;
        replies.turns += turns.len() as u64;
        replies.there += there;
        replies.played += played;
        // The counts of missed turns and of turns, as any other share.
        let counts = by_game.entry(spell.game).or_insert([0; COUNTS]);
        counts[Count::Lost as usize] += there - played;
        counts[Count::Spells as usize] += turns.len() as u64;
    }
    replies.missed = replies.there - replies.played;
    replies.games = by_game.len() as u64;
    let own: Vec<(usize, &Counts)> = by_game.values().map(|counts| (0, counts)).collect();
    let wanted = peers::Wanted {
        events: Count::Lost,
        base: Count::Spells,
        ..measures::LOST_WITHIN
    };
    let (figure, few) = peers::own_figure(habits, &wanted, &own);
    replies.share = figure.value;
    replies.interval = figure.interval;
    replies.verdict = if replies.turns == 0 {
        "No developed piece was lost while held, so there was no reply to miss.".to_owned()
    } else {
        format!(
            "A freeing reply was there and was not played in {} of {}, of {} that {} then lost{}.",
            words::count(replies.missed),
            words::counted(replies.turns, "turn"),
            words::counted(replies.spells, "held piece"),
            if replies.spells == 1 { "was" } else { "were" },
            match (&few, replies.interval) {
                (Some(few), _) => format!(" ({few})"),
                (None, Some(i)) => format!(
                    " ({:.0}% to {:.0}% of turns)",
                    i.low * 100.0,
                    i.high * 100.0
                ),
                (None, None) => String::new(),
            }
        )
    };
    replies
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn medians() {
        let mut turns = [0; TURNS + 1];
        turns[1] = 3;
        turns[2] = 1;
        turns[9] = 2;
        assert_eq!(median(&[(1.0, &turns)]), Some(1));
        let mut others = [0; TURNS + 1];
        others[4] = 1;
        assert_eq!(median(&[(1.0, &turns), (6.0, &others)]), Some(4));
        assert_eq!(median(&[(1.0, &[0; TURNS + 1])]), None);
        assert_eq!(median(&[]), None);
    }
}
