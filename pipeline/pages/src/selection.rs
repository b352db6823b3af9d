//! Positions that a reader chose on a page, and their handout: boards that ask, and the answers on sheets
//! of their own.
//!
//! The page writes a selection as JSON (`choose.js`): what the handout needs of each position, so that
//! it is printed without the tables.

use anyhow::{Context as _, Result, ensure};
use hobble_report::{Board, Game, plain, plain_short};
use serde::{Deserialize, Serialize};

use crate::board_key::key_for;
use crate::board_view::BoardView;
use crate::html::Sign;
use crate::style::style;
use crate::task_view::{TaskView, asking};
use crate::templates::fill;

/// Version of the shape of a selection.
const FORMAT: u32 = 1;
/// What a file says that it is about.
const ABOUT: &str = "selection";
/// Positions on a handout, at most.
const MOST: usize = 500;

/// Positions chosen for a handout.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Selection {
    format: u32,
    about: String,
    hobble: String,
    definitions: u32,
    /// Title of the handout.
    pub title: String,
    /// The positions, in order.
    pub positions: Vec<Chosen>,
}

/// A position chosen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Chosen {
    /// The piece, where it stands, and after which move.
    pub heading: String,
    /// What is to be seen, in sentences.
    pub caption: String,
    facts: Vec<Named>,
    /// The position as FEN.
    pub fen: String,
    bottom: String,
    /// The piece looked at, as `white knight`.
    piece: String,
    square: String,
    safe: Vec<String>,
    taken: Vec<String>,
    /// The squares that the move before left and reached; `null` at the start of a game.
    arrow: Option<(String, String)>,
    /// Its game in the tables; a page does not know it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub game: Option<Place>,
}

/// A game in the tables.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// Its source, the folder it has in every table.
    pub source: String,
    /// Its number there, from 1.
    pub number: u64,
}

/// A fact about a game, as [`hobble_report::Fact`] has it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Named {
    name: String,
    text: String,
}

impl Selection {
    /// A selection without positions, of tables with these definitions.
    pub fn new(title: &str, definitions: u32) -> Selection {
        Selection {
            format: FORMAT,
            about: ABOUT.to_owned(),
            hobble: env!("CARGO_PKG_VERSION").to_owned(),
            definitions,
            title: title.to_owned(),
            positions: Vec::new(),
        }
    }

    /// A selection from its JSON.
    ///
    /// # Errors
    ///
    /// Where it is not a selection, or of another version.
    pub fn parse(text: &str) -> Result<Selection> {
        let selection: Selection =
            serde_json::from_str(text).context("not a selection of positions")?;
        ensure!(
            selection.about == ABOUT,
            "not a selection of positions: it is about {:?}",
            selection.about
        );
        ensure!(
            selection.format == FORMAT,
            "a selection of format {}; this program reads format {FORMAT}",
            selection.format
        );
        Ok(selection)
    }

    /// Adds the positions of another selection behind these.
    ///
    /// # Errors
    ///
    /// Where they were measured by other definitions.
    pub fn add(&mut self, other: Selection) -> Result<()> {
        ensure!(
            self.definitions == other.definitions,
            "the selections were made with definitions {} and {}, and cannot be on one handout",
            self.definitions,
            other.definitions
        );
        self.positions.extend(other.positions);
        Ok(())
    }

    /// The handout as one HTML page that needs nothing but itself, under this title or the selection's own.
    ///
    /// # Errors
    ///
    /// Where there is no position or there are more than 500, or where a position or square cannot be
    /// read, naming it.
    pub fn handout(&self, title: Option<&str>) -> Result<String> {
        ensure!(!self.positions.is_empty(), "no position is selected");
        ensure!(
            self.positions.len() <= MOST,
            "{} positions are selected; a handout holds {MOST}",
            self.positions.len()
        );
        let questions = (1..).zip(&self.positions).map(|(number, chosen)| {
            let view = chosen.view(number);
            view.with_context(|| format!("position {number} cannot be shown"))
        });
        let key = key_for(true, "the move that led here", "the piece in question");
        fill(
            "selection.html",
            &View {
                style: style(),
                title: plain_short(title.unwrap_or(&self.title)),
                questions: questions.collect::<Result<_>>()?,
                key: key
                    .into_iter()
                    .map(|(sign, text)| Sign { sign, text })
                    .collect(),
                hobble: plain_short(&self.hobble),
                definitions: self.definitions,
            },
        )
    }
}

#[derive(Serialize)]
struct View {
    style: String,
    title: String,
    questions: Vec<TaskView>,
    key: Vec<Sign>,
    hobble: String,
    definitions: u32,
}

impl Chosen {
    /// The last board of a game in a report, as a reader would choose it on its page. `None` where the game
    /// has no board or no piece is followed on it.
    pub fn of(game: &Game, place: Place) -> Option<Chosen> {
        let board = game.boards.last()?;
        let facts = game.facts.iter().map(|fact| Named {
            name: fact.name.clone(),
            text: fact.text.clone(),
        });
        Some(Chosen {
            heading: game.heading.clone(),
            caption: game.caption.clone(),
            facts: facts.collect(),
            fen: board.fen.clone(),
            bottom: board.bottom.name().to_owned(),
            piece: game.stretch.as_ref()?.piece.clone(),
            square: board.held.clone(),
            safe: board.safe.clone()?,
            taken: board.taken.clone(),
            arrow: board.arrow.clone(),
            game: Some(place),
        })
    }

    /// The board that asks: the piece ringed, its squares not shown.
    fn asked(&self, number: usize) -> Result<Board> {
        Ok(Board {
            id: format!("chosen-{number}"),
            title: format!("Position {number}: {}", self.heading),
            arrow: self.arrow.clone(),
            ..asking(&self.fen, &self.bottom, &self.square)?
        })
    }

    /// The board of the answer: the piece with its safe squares and those that the move before took.
    ///
    /// # Errors
    ///
    /// Where there is no such side as the one at the bottom.
    pub fn solved(&self, number: usize) -> Result<Board> {
        Ok(Board {
            id: format!("chosen-answer-{number}"),
            title: format!("Answer {number}: {}", self.heading),
            safe: Some(self.safe.clone()),
            taken: self.taken.clone(),
            ..self.asked(number)?
        })
    }

    /// Players, event and where the game is found, in one line.
    pub fn facts(&self) -> String {
        let facts = self.facts.iter();
        let facts: Vec<String> = facts
            .map(|fact| format!("{}: {}", fact.name, fact.text))
            .collect();
        plain(&facts.join("; "))
    }

    fn view(&self, number: usize) -> Result<TaskView> {
        Ok(TaskView {
            number,
            task: plain(&self.task()),
            difficulty: String::new(),
            board: BoardView::new(&self.asked(number)?)?,
            answer: BoardView::new(&self.solved(number)?)?,
            answers: vec![plain(&self.caption)],
            game: self.facts(),
        })
    }

    fn task(&self) -> String {
        let piece = format!("the {} on {}", self.piece, self.square);
        let taken = match self.taken.len() {
            _ if self.arrow.is_none() => String::new(),
            0 => " The arrow is the move just played.".to_owned(),
            1 => " The move just played took one square from it. Which?".to_owned(),
            number => format!(" The move just played took {number} squares from it. Which?"),
        };
        format!("Which squares are safe for {piece}?{taken} How would you go on?")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    fn selection() -> Value {
        json!({
            "format": 1,
            "about": "selection",
            "hobble": "0.1.0",
            "definitions": 3,
            "title": "Knights <b>",
            "positions": [{
                "heading": "White knight on h3 after 4...f6",
                "caption": "After 4...f6, which took g5, it has g1 & f4 left.",
                "facts": [{"name": "White", "text": "Nan <i>"}],
                "fen": "r1bqkbnr/ppp3pp/2n1pp2/3pP3/3P4/7N/PPP2PPP/RNBQKB1R w KQkq - 0 5",
                "bottom": "black",
                "piece": "white knight",
                "square": "h3",
                "safe": ["g1", "f4"],
                "taken": ["g5"],
                "arrow": ["f7", "f6"],
            }],
        })
    }

    fn handout(selection: &Value) -> Result<String> {
        Selection::parse(&selection.to_string())?.handout(None)
    }

    #[test]
    fn the_answer_is_on_the_second_sheet_alone() {
        let page = handout(&selection()).unwrap();
        let (asked, answered) = page.split_once("id=\"answers\"").unwrap();
        assert!(asked.contains("The move just played took one square from it. Which?"));
        assert!(!asked.contains("class=\"safe\"") && !asked.contains("class=\"taken\""));
        assert!(answered.contains("class=\"safe\"") && answered.contains("class=\"taken\""));
        assert!(answered.contains("which took g5, it has g1 &amp; f4 left."));
        assert!(!page.contains("<b>") && !page.contains("<i>"));
    }

    #[test]
    fn what_is_wrong_is_named() {
        let error = |place: &str, value: Value| {
            let mut wrong = selection();
            *wrong.pointer_mut(place).unwrap() = value;
            format!("{:#}", handout(&wrong).err().unwrap())
        };
        let said = [
            (
                error("/about", json!("claim")),
                "not a selection of positions: it is about \"claim\"",
            ),
            (
                error("/format", json!(2)),
                "a selection of format 2; this program reads format 1",
            ),
            (error("/positions", json!([])), "no position is selected"),
            (
                error("/positions/0/fen", json!("x")),
                "position 1 cannot be shown: invalid position \"x\"",
            ),
            (
                error("/positions/0/square", json!("z9")),
                "position 1 cannot be shown: invalid square \"z9\"",
            ),
            (
                error("/positions/0/bottom", json!("up")),
                "position 1 cannot be shown: invalid side \"up\"",
            ),
        ];
        for (got, wanted) in said {
            assert!(got.starts_with(wanted), "{got}");
        }
    }

    #[test]
    fn selections_of_two_definitions_are_not_mixed() {
        let mut first = Selection::parse(&selection().to_string()).unwrap();
        let mut other = selection();
        first
            .add(Selection::parse(&other.to_string()).unwrap())
            .unwrap();
        assert_eq!(
            first
                .handout(Some("Two"))
                .unwrap()
                .matches("Answer ")
                .count()
                % 2,
            0
        );
        other["definitions"] = json!(2);
        assert!(
            first
                .add(Selection::parse(&other.to_string()).unwrap())
                .is_err()
        );
    }
}
