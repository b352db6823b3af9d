//! From question, player and tables to what is said of the player.

use std::collections::BTreeSet;

use crate::answer::{
    FORMAT, Found, Group, HabitsAnswer, Left, Measure, Parameters, PeersFound, PeersFrom, Section,
    TooFew,
};
use crate::count::{COUNTS, Counts};
use crate::figure::Wanted;
use crate::games_to_see;
use crate::judge;
use crate::measures::{self, CHANCES, CHANCES_AGAINST, GROUPED, SECTIONS, TAKEN};
use crate::missed_chances;
use crate::notes::{self, HOW_TO_GET_PEERS};
use crate::openings::{Eco, Openings};
use crate::peers::{self, Others, Sides};
use crate::prevention;
use crate::replies::replies_and_games;
use crate::report;
use crate::sides::{self, Cell, Own, Peers, Places, Stratum};
use crate::tally::{TURNS, Tally, Turns};
use crate::tally_games;
use crate::trend;
use crate::{Habits, Player};
use hobble_conditions::fields::QuestionFile as _;
use hobble_conditions::sort::Sort;
use hobble_conditions::{AskError, Given, words};
use hobble_dataset::Dataset;
use hobble_report::number::capital;
use hobble_report::{Report, Reported};
use hobble_statistics::LEVEL;
use hobble_statistics::few::COVERED;

impl Sort for Habits {
    type Answer = HabitsAnswer;

    const OF_A_PLAYER: bool = true;

    fn ask(&self, dataset: &Dataset, given: &Given) -> Result<HabitsAnswer, AskError> {
        let Some(player) = &given.player else {
            return Err(AskError::Override {
                name: "player",
                what: "this question is about one player: name one with --player NAME".to_owned(),
            });
        };
        if given.overrides.developed.is_some() {
            return Err(AskError::Override {
                name: "developed",
                what: "a report about a player shows developed pieces, and undeveloped ones apart"
                    .to_owned(),
            });
        }
        let habits = self.with(&given.overrides)?;
        answer(&habits, dataset, player, given.peers.as_ref())
    }
}

impl Reported for HabitsAnswer {
    fn report(&self) -> Report<'_> {
        report::report(self)
    }
}

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
            what: "in every game by this name both sides have it, so the player's side is unknown"
                .to_owned(),
        });
    }
    let openings = openings(&mut own, habits);
    let strata = strata(&own);
    let theirs = sides::peers(
        peers.unwrap_or(dataset),
        &mut own.known,
        &strata.iter().cloned().collect(),
        &openings,
    )?;
    let tally = tally_games::tally(
        habits,
        dataset,
        &Places::of_own(&own.games),
        own.games.len(),
        &theirs,
        peers,
    )?;
    let mut compared = Compared {
        from: PeersFrom::SameTables,
        habits,
        own: &own,
        strata: &strata,
        openings: &openings,
        peers: &theirs,
        tally: &tally,
    };
    compared.from = compared.source(peers.is_some());
    let (sections, groups) = compared.judged(dataset.parameters().sample.get());
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
        question: habits.texts(),
        parameters: parameters(habits),
        player: found(player, &own, &strata),
        peers: compared.peers_found(peers),
        dataset: dataset.summary().clone(),
        verdicts: verdicts(&sections, own.games.len(), habits, compared.from),
        sections,
        groups,
        left: Left {
            you: median(&[(1.0, &tally.own_turns)]),
            peers: compared.peers_median(),
        },
        replies,
        prevention: prevention::prevention(habits, dataset, &own, &tally.restraining)?,
        trend: trend::trend(habits, &dated, &measures::HELD, &measures::LOST_WITHIN),
        games,
        games_rule: games_to_see::RULE.to_owned(),
        missed_chances: missed_chances::show(dataset, &own, tally.missed.clone())?,
        missed_chances_rule: missed_chances::RULE.to_owned(),
        methods: notes::methods(),
        notes: Vec::new(),
    };
    answer.notes = notes::notes(&answer, dataset, peers);
    Ok(answer)
}

/// The openings told apart; each of the player's games is put into its group.
fn openings(own: &mut Own, habits: &Habits) -> Openings {
    let codes = own.games.iter().filter_map(|game| game.cell.opening);
    let openings = Openings::of(codes, habits.minimum_games);
    for game in &mut own.games {
        game.cell.opening = (game.cell.opening).and_then(|code| openings.group(code));
    }
    openings
}

/// Strata of the player's games, each once, sorted.
fn strata(own: &Own) -> Vec<Stratum> {
    let strata = own.games.iter().map(|game| game.cell.stratum.clone());
    let strata: BTreeSet<Stratum> = strata.collect();
    strata.into_iter().collect()
}

fn parameters(habits: &Habits) -> Parameters {
    Parameters {
        k: habits.k,
        within: habits.within,
        long: habits.long,
        minimum_games: habits.minimum_games,
        minimum_event_games: habits.minimum_event_games,
        replies_turns: habits.replies_turns,
        level: LEVEL,
    }
}

/// What figures are worked out from.
struct Compared<'a> {
    from: PeersFrom,
    habits: &'a Habits,
    own: &'a Own,
    strata: &'a [Stratum],
    openings: &'a Openings,
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
        if self.from == PeersFrom::Opponents {
            let all = self.own.games.iter().zip(&self.tally.opponents);
            let opponents = all.filter(|(game, _)| of(&game.cell));
            let others = Others::Opponents(opponents.map(|(_, counts)| counts).collect());
            return Sides { own, others };
        }
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
        Sides {
            own,
            others: Others::Apart(peers),
        }
    }

    fn sections(&self) -> Vec<Section> {
        let all = self.sides(|_| true);
        let section = |(title, wanted): &(&str, &[Wanted])| Section {
            title: (*title).to_owned(),
            measures: wanted
                .iter()
                .map(|one| peers::measure(self.habits, one, &all))
                // Games without clocks have no chance in either class of time left.
                .filter(|one| *title != CHANCES || one.you.base > 0 || one.peers.base > 0)
                .collect(),
        };
        let written = self.tally.has_chances();
        let mut wanted: Vec<_> = SECTIONS.iter().collect();
        wanted.retain(|(title, _)| written || ![CHANCES, CHANCES_AGAINST].contains(title));
        wanted.into_iter().map(section).collect()
    }

    /// Where peers come from: other games of the same tables, where enough of the player's games
    /// have enough of them, and the opponents of the player's own games otherwise.
    fn source(&self, own_tables: bool) -> PeersFrom {
        let covered = self.own.games.len() as u64 - self.games_without_peers();
        let share = covered as f64 / self.own.games.len() as f64;
        match own_tables {
            true => PeersFrom::OwnTables,
            false if share >= COVERED => PeersFrom::SameTables,
            false => PeersFrom::Opponents,
        }
    }

    /// The player's games in strata with fewer sides of peers than an interval asks for.
    fn games_without_peers(&self) -> u64 {
        let mut sides = vec![0; self.strata.len()];
        for (cell, by_fold) in self.peers.cells.iter().zip(&self.peers.sides) {
            sides[self.stratum(cell)] += by_fold.iter().sum::<u64>();
        }
        let games = self.own.games.iter();
        let few = |stratum: usize| sides[stratum] < self.habits.minimum_games.max(1);
        games.filter(|game| few(self.stratum(&game.cell))).count() as u64
    }

    /// All figures, judged: those of all games together, and those of parts of them together.
    fn judged(&self, sample: u32) -> (Vec<Section>, Vec<Group>) {
        let (mut sections, mut groups) = (self.sections(), self.groups());
        let measures = sections.iter_mut().flat_map(|one| &mut one.measures);
        self.judge(measures.collect(), sample);
        let measures = groups.iter_mut().flat_map(|one| &mut one.measures);
        self.judge(measures.collect(), sample);
        (sections, groups)
    }

    fn peers_found(&self, tables: Option<&Dataset>) -> PeersFound {
        let opponents = self.from == PeersFrom::Opponents;
        PeersFound {
            from: self.from,
            sides: if opponents {
                self.own.games.len() as u64
            } else {
                self.peers.sides.iter().flatten().sum()
            },
            names: self.peers.names,
            games_without: self.games_without_peers(),
            dataset: tables.map(|peers| peers.summary().clone()),
        }
    }

    fn judge(&self, measures: Vec<&mut Measure>, sample: u32) {
        let games = self.own.games.len() as u64;
        // Beside opponents, what the player does to them is what they suffer: told once.
        let mirrored = |one: &Measure| {
            one.name.starts_with("opponent_") || one.name.starts_with("chances_taken_against")
        };
        judge::judge(
            measures,
            self.from.word(),
            |one| judge::weight(one, games, sample),
            |one| self.from != PeersFrom::Opponents || !mirrored(one),
        );
    }

    fn peers_median(&self) -> Option<u64> {
        if self.from == PeersFrom::Opponents {
            return median(&[(1.0, &self.tally.opponent_turns)]);
        }
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
        let openings: BTreeSet<Option<Eco>> = self
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
                |group| self.openings.label(group),
            );
            groups.extend(self.group("opening", label, |cell| cell.opening == opening));
        }
        groups
    }

    fn group(&self, by: &str, label: String, of: impl Fn(&Cell) -> bool) -> Option<Group> {
        let sides = self.sides(of);
        let written = self.tally.has_chances();
        let wanted = GROUPED.iter();
        let measures: Vec<Measure> = wanted
            .filter(|one| written || one.name != TAKEN.name)
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
fn verdicts(sections: &[Section], games: usize, habits: &Habits, from: PeersFrom) -> Vec<String> {
    if (games as u64) < habits.minimum_games {
        return vec![format!(
            "Too few games to tell: {} where {} are asked for. The counts and the games below are what there is.",
            words::counted(games as u64, "game"),
            habits.minimum_games
        )];
    }
    let all: Vec<&Measure> = sections
        .iter()
        .flat_map(|section| &section.measures)
        .collect();
    let no_peers =
        |one: &&Measure| matches!(one.too_few, Some(TooFew::NoPeers | TooFew::Covered { .. }));
    let apart: Vec<String> = (all.iter())
        .filter(|measure| measure.stands_out)
        .map(|measure| measure.verdict.clone())
        .collect();
    let tried = all.iter().filter(|one| one.adjusted.is_some()).count();
    let others = from.word();
    match tried {
        0 if all.iter().any(no_peers) => vec![format!("{NO_PEERS} {HOW_TO_GET_PEERS}")],
        0 => vec!["No figure could be compared: there are too few games.".to_owned()],
        _ if apart.is_empty() => vec![format!(
            "{} compared with {others}: none differs by more than chance allows and by enough to act on.",
            capital(&words::counted(tried as u64, "figure"))
        )],
        _ => apart,
    }
}

/// Said where there is nobody to compare with.
const NO_PEERS: &str = "There are no peers: these tables hold too few games of other players in the same rating bands and time classes, so nothing is compared.";

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
