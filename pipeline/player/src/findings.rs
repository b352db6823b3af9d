//! What a player can act on first: three findings, each with what to look for and a board of the
//! player's own that shows it.
//!
//! First come figures that stand apart from the others' to the player's disadvantage, by the number
//! of cases a game; figures that say much the same give one finding. Where these are fewer than
//! three, what the player's games show by themselves fills up.

use std::collections::BTreeSet;

use hobble_conditions::AskError;
use hobble_conditions::terms::Kind;
use hobble_conditions::words::count;
use hobble_terms::Phase;

use crate::Habits;
use crate::answer::{Figure, Finding, GameToSee, Measure, Replies, Section};
use crate::games_to_see::{self, Candidate};
use crate::judge;
use crate::measures::{RESTRAINED_LOST, TAKEN};
use crate::missed_chances;
use crate::own_spells::OwnSpell;
use crate::replays::OwnGames;
use crate::replies::played_out;
use crate::tally::OwnCounts;
use crate::to_show::Missed;

/// Number of findings.
const NUMBER: usize = 3;

/// By what rule they are chosen.
pub const RULE: &str = "Figures that are named and that a player would want to change come first, those of most cases a game before others; of figures that say much the same, one. Where these are fewer than three, what the games show by themselves follows: replies that were missed, chances to restrain that were not taken, restrained pieces that were lost. What to look for is common practice, no source.";

/// What of the player's games shows a finding.
#[derive(Clone, Copy)]
enum Shown {
    Spell(fn(&OwnSpell, &str) -> bool),
    Chance(fn(&Missed, &str) -> bool),
}

/// Figures that say much the same.
struct Habit {
    /// How their names begin.
    begins: &'static [&'static str],
    /// Whether the player would want more of it.
    good: bool,
    look_for: &'static str,
    shown: Shown,
}

const KEEP_A_WAY_OUT: &str = "Look at each of your pieces before the opponent moves: could a quiet move leave it hardly a square? Then keep it a way out.";
const BEFORE_OWN_MOVE: &str =
    "Before your own move, look which of your other pieces it leaves without squares.";
const GET_IT_OUT: &str = "When a piece has hardly a square left, look first for a move that gives it squares, or for a trade, before it is attacked.";
const QUIET_CHANCES: &str =
    "At your turn, look for a quiet move that leaves a piece of the opponent hardly a square.";

/// A chance that was missed, of the figure's kind and phase.
const MISSED: Shown =
    Shown::Chance(|missed, name| of_kind(name, missed.kind) && of_phase(name, missed.phase));

/// In the order they are tried for a figure's name; the first that fits is taken.
const HABITS: [Habit; 7] = [
    Habit {
        begins: &["restrained_lost", "lost_within", "ended_lost"],
        good: false,
        look_for: GET_IT_OUT,
        shown: Shown::Spell(|spell, name| {
            let restrained = name != "restrained_lost" || spell.restrained;
            spell.end == "lost" && restrained
        }),
    },
    Habit {
        begins: &["long"],
        good: false,
        look_for: GET_IT_OUT,
        shown: Shown::Spell(|_, _| true),
    },
    Habit {
        begins: &["by_own_moves", "blocked", "entered", "pinned_by_own"],
        good: false,
        look_for: BEFORE_OWN_MOVE,
        shown: Shown::Spell(|spell, name| {
            let blocker = name.strip_prefix("blocked_by_");
            let cause = match name {
                "by_own_moves" => true,
                "entered" => spell.cause == "entered",
                "pinned_by_own" => spell.cause == "pinned",
                _ => spell.cause == "blocked",
            };
            let by = blocker.is_none_or(|kind| spell.cause_kind.as_deref() == Some(kind));
            spell.cause_by.as_deref() == Some("own") && cause && by
        }),
    },
    Habit {
        begins: &["chances_taken"],
        good: true,
        look_for: QUIET_CHANCES,
        shown: MISSED,
    },
    Habit {
        begins: &["missed_worse"],
        good: false,
        look_for: QUIET_CHANCES,
        shown: MISSED,
    },
    Habit {
        begins: &["restrained"],
        good: false,
        look_for: KEEP_A_WAY_OUT,
        shown: Shown::Spell(|spell, name| {
            spell.restrained && of_kind(name, spell.kind) && of_phase(name, spell.phase)
        }),
    },
    Habit {
        begins: &["held", "taken", "pinned"],
        good: false,
        look_for: KEEP_A_WAY_OUT,
        shown: Shown::Spell(|spell, name| {
            let cause = match name {
                "taken" | "pinned" => spell.cause == name && !spell.is_by_own(),
                _ => true,
            };
            cause && of_kind(name, spell.kind)
        }),
    },
];

/// Whether a figure is of this kind of piece, or of none in particular.
fn of_kind(figure: &str, kind: Kind) -> bool {
    let kinds = [Kind::Knight, Kind::Bishop, Kind::Rook, Kind::Queen];
    let named = |kind: &Kind| figure.ends_with(&format!("_{}s", kind.name()));
    kinds
        .iter()
        .find(|kind| named(kind))
        .is_none_or(|one| *one == kind)
}

/// Whether a figure is of this phase, or of none in particular.
fn of_phase(figure: &str, phase: Phase) -> bool {
    let phases = [Phase::Opening, Phase::Middlegame, Phase::Endgame];
    let named = |phase: &Phase| figure.ends_with(&format!("_{}", phase.name()));
    phases
        .iter()
        .find(|phase| named(phase))
        .is_none_or(|one| *one == phase)
}

fn habit(name: &str) -> Option<&'static Habit> {
    let left_out = name.contains("_against") || name == "held_undeveloped";
    let fits = |habit: &&Habit| habit.begins.iter().any(|begin| name.starts_with(begin));
    HABITS.iter().find(fits).filter(|_| !left_out)
}

/// A finding before its board is chosen.
struct Wanted {
    figure: String,
    text: String,
    look_for: &'static str,
    shown: Shown,
}

/// What is known when findings are chosen.
pub struct Known<'a> {
    /// The question.
    pub habits: &'a Habits,
    /// The player's games.
    pub games: OwnGames<'a>,
    /// What was counted of them.
    pub counts: &'a OwnCounts,
    /// The figures, judged.
    pub sections: &'a [Section],
    /// Replies that were missed.
    pub replies: &'a Replies,
}

/// The findings, at most three; fewer where the games do not show so many.
///
/// # Errors
///
/// Where a table is unreadable or inconsistent.
pub fn find(known: &Known<'_>) -> Result<Vec<Finding>, AskError> {
    let mut findings = Vec::new();
    let mut used = BTreeSet::new();
    for wanted in known.apart().into_iter().chain(known.by_themselves()) {
        if findings.len() == NUMBER {
            break;
        }
        // What to look for is said once.
        let said = |one: &Finding| one.look_for == wanted.look_for;
        if !findings.iter().any(said) {
            findings.extend(known.with_board(wanted, &mut used)?);
        }
    }
    Ok(findings)
}

impl Known<'_> {
    /// Figures that stand apart to the player's disadvantage.
    fn apart(&self) -> Vec<Wanted> {
        let games = self.games.own.games.len() as u64;
        let sample = self.games.dataset.parameters().sample.get();
        let measures = self.sections.iter().flat_map(|section| &section.measures);
        let mut apart: Vec<(f64, &Measure, &Habit)> = measures
            .filter(|one| one.stands_out)
            .filter_map(|one| {
                let habit = habit(&one.name)?;
                let more = one.ratio.value? > 1.0;
                let a_game = one.difference.value?.abs() * judge::weight(one, games, sample);
                (more != habit.good).then_some((a_game, one, habit))
            })
            .collect();
        apart.sort_by(|a, b| b.0.total_cmp(&a.0));
        let wanted = |(_, one, habit): (f64, &Measure, &Habit)| Wanted {
            figure: one.name.clone(),
            text: one.verdict.clone(),
            look_for: habit.look_for,
            shown: habit.shown,
        };
        apart.into_iter().map(wanted).collect()
    }

    fn figure(&self, name: &str) -> Option<&Figure> {
        let mut measures = self.sections.iter().flat_map(|section| &section.measures);
        measures.find(|one| one.name == name).map(|one| &one.you)
    }

    /// What the games show without others.
    fn by_themselves(&self) -> Vec<Wanted> {
        let mut wanted = Vec::new();
        if self.replies.missed > 0 {
            wanted.push(Wanted {
                figure: "replies".to_owned(),
                text: self.replies.shown(),
                look_for: GET_IT_OUT,
                shown: Shown::Spell(|spell, _| spell.end == "lost"),
            });
        }
        let named = |name: &str| self.figure(name).filter(|figure| figure.base > 0);
        if let Some(taken) = named(TAKEN.name) {
            let text = format!(
                "Of {} chances to restrain a piece of the opponent in the sample of turns, {} were taken.",
                count(taken.base),
                count(taken.events)
            );
            wanted.push(Wanted {
                figure: TAKEN.name.to_owned(),
                text,
                look_for: QUIET_CHANCES,
                shown: Shown::Chance(|_, _| true),
            });
        }
        if let Some(lost) = named(RESTRAINED_LOST.name) {
            let text = format!(
                "{} times an own piece was restrained; {} times it was lost within {} moves.",
                count(lost.base),
                count(lost.events),
                self.habits.within
            );
            wanted.push(Wanted {
                figure: RESTRAINED_LOST.name.to_owned(),
                text,
                look_for: KEEP_A_WAY_OUT,
                shown: Shown::Spell(|spell, _| spell.restrained),
            });
        }
        wanted
    }

    /// The finding with a board of a game that shows it; `None` where no game does.
    fn with_board(
        &self,
        wanted: Wanted,
        used: &mut BTreeSet<usize>,
    ) -> Result<Option<Finding>, AskError> {
        let (mut game, mut chance) = (None, None);
        match wanted.shown {
            Shown::Spell(shows) => {
                let spells = self.counts.spells.iter();
                let fitting = spells
                    .filter(|spell| !used.contains(&spell.game) && shows(spell, &wanted.figure));
                game = self.game(fitting.collect(), used)?;
            }
            Shown::Chance(shows) => {
                let missed =
                    self.counts.missed.iter().filter(|missed| {
                        !used.contains(&missed.game) && shows(missed, &wanted.figure)
                    });
                let missed = missed.cloned().collect();
                let first = missed_chances::first(self.games.own, missed, 1);
                used.extend(first.iter().map(|one| one.game));
                chance = missed_chances::boards(self.games, &first)?.pop();
            }
        }
        let shown = game.is_some() || chance.is_some();
        Ok(shown.then(|| Finding {
            figure: wanted.figure,
            text: wanted.text,
            look_for: wanted.look_for.to_owned(),
            game,
            chance,
        }))
    }

    fn game(
        &self,
        fitting: Vec<&OwnSpell>,
        used: &mut BTreeSet<usize>,
    ) -> Result<Option<GameToSee>, AskError> {
        let candidates = fitting.into_iter().map(|spell| Candidate {
            spell,
            game: &self.games.own.games[spell.game],
            turns: None,
        });
        // Of a few that would do, the one with most replies missed.
        let few = games_to_see::choose(candidates.collect(), TRIED);
        let spells: Vec<&OwnSpell> = few.iter().map(|one| one.spell).collect();
        let turns = played_out(self.habits, self.games, &spells)?;
        let played = few.into_iter().zip(&turns).map(|(one, turns)| Candidate {
            turns: turns.as_deref(),
            ..one
        });
        let best = games_to_see::choose(played.collect(), 1).pop();
        let Some(best) = best else { return Ok(None) };
        used.insert(best.spell.game);
        Ok(games_to_see::show(&[best], self.games)?.pop())
    }
}

/// Spells that are played out before one is chosen.
const TRIED: usize = 20;
