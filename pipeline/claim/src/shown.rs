//! An example game as an answer shows it: positions, squares, and what happened in words.

use hobble_conditions::words;
use hobble_examples::played::fen;
use hobble_examples::replay::squares;
use hobble_examples::rule::{Fault, is_escape};
use hobble_examples::{Course, Played, Restraint};
use hobble_terms::{Fate, SpellEnd};

use super::answer::{ClaimExample, ExampleRole};
use super::candidates::Middle;

/// A candidate chosen for a role.
pub(super) struct Chosen<'a> {
    pub role: ExampleRole,
    /// What the claim calls its pieces: `restrained` or `held`.
    pub state: &'static str,
    pub spell: &'a Restraint,
    pub played: &'a Played,
    pub course: &'a Course,
    /// What speaks against it as a clear loss.
    pub faults: &'a [Fault],
    /// The middle of all that met the outcome, where the role is measured by it.
    pub middle: Option<Middle>,
}

/// Whether the example is a piece that got away, though not as the rule asks.
fn is_mere_escape(chosen: &Chosen<'_>) -> bool {
    chosen.role == ExampleRole::CounterExample
        && !is_escape(chosen.course, chosen.spell, chosen.played)
}

/// How such an example is chosen.
const MERE_ESCAPE: &str = "No game shows an escape as the rule for counter-examples has it: of the restraints that the owner of the piece ended, who did not lose the game nor the piece later, the one with the most points, the restraining move being quiet and safe.";

/// How examples of a role are chosen.
const fn rule(role: ExampleRole) -> &'static str {
    match role {
        ExampleRole::Clearest | ExampleRole::Clear => {
            "Of the restraints after which the piece was lost in time: the restraining move was quiet, nothing could take its mover at a profit and it left nothing worth two pawns loose; material was level; the piece did not walk into the threat that won it, took nothing meanwhile, and had no safe square when it was threatened for the last time; its owner got little for it and did not win. Among those, the most points for turns in peace (10 each, up to 6), squares taken (15 each, up to 4), a piece that stood still (20), a restrainer that stayed (15), nothing got for the piece (10), no square left at once (5), a lost game (5); less 20 each where the move or the threat hit something else as well, and less 5 for each turn above 12."
        }
        ExampleRole::Nearest => {
            "No game shows it clearly: of the restraints after which the piece was lost in time, the one with the least that speaks against it, as the rule of the clearest has it."
        }
        ExampleRole::Typical => {
            "As the clearest, but the nearest to the medians of turns, squares taken, moves to the capture and balance of all such pieces that were lost in time."
        }
        ExampleRole::CounterExample => {
            "Of the restraints that lasted 3 to 10 turns with level material: the move was quiet and safe, and covered at least half of the two or more squares it took; the piece was never under threat; its owner freed it by a quiet move of the piece, by a quiet pawn move or by capturing the restrainer, lost no material within ten moves and did not lose the game. Among those, the most points for turns (10 each, up to 8), squares taken (15 each, up to 4), a win (20) and a piece that moved away itself (10)."
        }
    }
}

/// The example as an answer shows it.
pub(super) fn example(chosen: &Chosen<'_>) -> ClaimExample {
    let Chosen {
        role,
        spell,
        played,
        course,
        ..
    } = *chosen;
    let ended = played
        .reference(spell.end_ply)
        .filter(|_| spell.end != SpellEnd::GameOver);
    let captured = played
        .reference(spell.fate_ply)
        .filter(|_| spell.fate != Fate::Survived);
    let mut example = ClaimExample {
        role,
        rule: if is_mere_escape(chosen) {
            MERE_ESCAPE
        } else {
            rule(role)
        }
        .to_owned(),
        chosen: String::new(),
        state: chosen.state,
        start_fen: played.start_fen.clone(),
        kind: spell.kind,
        color: if spell.white { "white" } else { "black" }.to_owned(),
        square: spell.square.clone(),
        phase: spell.phase,
        turns: spell.turns,
        fen_before: fen(&course.before),
        fen_after: fen(&course.after),
        cause: course.cause.clone(),
        threat: course.threat(played).filter(|_| spell.captured_in_place()),
        ended,
        captured,
        safe_before: squares(course.safe_before),
        safe_after: squares(course.safe_after),
        taken: squares(course.taken()),
        caption: String::new(),
        moves: played.san(),
        comments: Vec::new(),
        stretch: spell.stretch(played, course.square),
        game: played.game.clone(),
    };
    example.chosen = because(&example, chosen);
    let sentences = Sentences::of(&example, spell);
    example.caption = sentences.caption(&example);
    example.comments = sentences.comments(&example, spell);
    example
}

/// Why it was chosen, in one sentence.
fn because(example: &ClaimExample, chosen: &Chosen<'_>) -> String {
    let (spell, course) = (chosen.spell, chosen.course);
    let (cause, kind, square) = (&example.cause.label, spell.kind, &spell.square);
    let owner = names(spell).0;
    match (chosen.role, chosen.middle) {
        (ExampleRole::Typical, Some(middle)) => format!(
            "Chosen because it is nearest the middle of the {} pieces lost in time: {} (median {}), {} taken (median {}), lost {} later (median {}), {} (median {}).",
            words::count(middle.number),
            words::counted(spell.turns.into(), "turn"),
            middle.turns,
            words::counted(spell.taken.into(), "square"),
            middle.taken,
            words::counted(u64::from(spell.wait() / 2), "move"),
            middle.wait / 2,
            match spell.balance {
                0 => "material level".to_owned(),
                up @ 1.. => format!("{owner} {up} up"),
                down => format!("{owner} {} down", -down),
            },
            middle.balance
        ),
        (ExampleRole::CounterExample, _) => {
            let freed = example.ended.as_ref().map_or("", |ended| &ended.label);
            let result = match spell.half_points {
                Some(2) => "won",
                _ => "drew",
            };
            if is_mere_escape(chosen) {
                return format!(
                    "Chosen because no game shows an escape more plainly: {owner} freed the {kind} by {freed} and {result}."
                );
            }
            format!(
                "Chosen because {cause} is a quiet, safe move that took {} and kept the {kind} {} for {}, yet {owner} freed it by {freed} and {result}.",
                words::counted(spell.taken.into(), "square"),
                example.state,
                words::counted(spell.turns.into(), "turn"),
            )
        }
        (ExampleRole::Nearest, _) => {
            let against: Vec<String> = chosen
                .faults
                .iter()
                .map(|fault| fault.in_words().to_owned())
                .collect();
            format!(
                "Chosen because no game shows it clearly and this one comes nearest; against it speaks that {}.",
                words::list(&against)
            )
        }
        _ => {
            let quiet = course.quiet_turns() as u64;
            let threat = example.threat.as_ref().map_or_else(
                || "when it was threatened".to_owned(),
                |threat| format!("after {} threatened it", threat.label),
            );
            let safe = course.turns.last().map_or(0, |turn| turn.safe);
            let square_left = match safe {
                0 => "it had no safe square".to_owned(),
                left => format!("it had {}", words::counted(left as u64, "safe square")),
            };
            format!(
                "Chosen because {cause} is a quiet, safe move, the {kind} restrained on {square} had {} without a threat and did not get free, {square_left} {threat}, and material was level until then.",
                words::counted(quiet, "turn"),
            )
        }
    }
}

/// The piece's owner and the other side.
const fn names(spell: &Restraint) -> (&'static str, &'static str) {
    if spell.white {
        ("White", "Black")
    } else {
        ("Black", "White")
    }
}

/// What happened, in sentences.
struct Sentences {
    /// What the restraining move did.
    did: String,
    /// The threat that won the piece; empty where there was none.
    threat: String,
    /// How the spell ended.
    end: String,
    /// What became of the piece later; empty where that is its end.
    later: String,
}

impl Sentences {
    fn of(example: &ClaimExample, spell: &Restraint) -> Sentences {
        let (owner, other) = names(spell);
        let left = match &example.safe_after[..] {
            [] => "no safe square is left".to_owned(),
            [one] => format!("only {one} is left"),
            several => format!("only {} are left", words::list(several)),
        };
        let did = format!(
            "{other}'s {} takes {} from the {} on {}: {left}.",
            example.cause.label,
            words::list(&example.taken),
            spell.kind,
            example.square
        );
        let threat = example.threat.as_ref().map_or_else(String::new, |threat| {
            format!("{} threatens to win it.", threat.label)
        });
        let end = match (&example.ended, spell.end) {
            (None, _) => format!("It was still {} when the game ended.", example.state),
            (Some(ended), SpellEnd::Freed) if spell.moved_away => {
                format!("{owner} freed it by moving it away, {}.", ended.label)
            }
            (Some(ended), SpellEnd::Freed) if spell.freed_by_owner => {
                format!("{owner} freed it by {}.", ended.label)
            }
            (Some(ended), SpellEnd::Freed) => format!("{} gave it squares again.", ended.label),
            (Some(ended), _) => format!("It was {} by {}.", happened(spell.fate), ended.label),
        };
        let later = match &example.captured {
            Some(captured) if spell.end == SpellEnd::Freed => {
                format!(
                    "Later it was {} by {}.",
                    happened(spell.fate),
                    captured.label
                )
            }
            None if spell.end == SpellEnd::Freed => "It was never captured.".to_owned(),
            _ => String::new(),
        };
        Sentences {
            did,
            threat,
            end,
            later,
        }
    }

    fn caption(&self, example: &ClaimExample) -> String {
        let lasted = format!(
            "It stayed {} for {}.",
            example.state,
            words::counted(example.turns.into(), "turn")
        );
        let result = format!("Result: {}.", example.game.result);
        let all = [
            &self.did,
            &lasted,
            &self.threat,
            &self.end,
            &self.later,
            &result,
        ];
        let said: Vec<&str> = all
            .into_iter()
            .map(String::as_str)
            .filter(|text| !text.is_empty())
            .collect();
        said.join(" ")
    }

    /// The same as comments for the PGN, each at its ply.
    fn comments(&self, example: &ClaimExample, spell: &Restraint) -> Vec<(u32, String)> {
        let mut comments = vec![(example.cause.ply, self.did.clone())];
        if let Some(threat) = &example.threat {
            comments.push((threat.ply, self.threat.clone()));
        }
        if let Some(ended) = &example.ended {
            let lasted = words::counted(example.turns.into(), "turn");
            let said = format!("{} It was {} for {lasted}.", self.end, example.state);
            comments.push((ended.ply, said));
        }
        if let Some(captured) = &example.captured
            && spell.end == SpellEnd::Freed
        {
            comments.push((captured.ply, self.later.clone()));
        }
        comments
    }
}

/// What became of a captured piece, after `was`.
const fn happened(fate: Fate) -> &'static str {
    match fate {
        Fate::Lost => "lost",
        Fate::Traded => "traded",
        Fate::Sold | Fate::Survived => "sold for more than its value",
    }
}
