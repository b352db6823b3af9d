//! The declared grid: what is tried, and each claim that comes of it.

use hobble_claim::Claim;
use hobble_conditions::AskError;
use hobble_conditions::asked_rows::AskedRows;
use hobble_conditions::fields::QuestionFile as _;
use hobble_conditions::filter::Condition;
use hobble_conditions::terms::{Kind, Outcome};
use serde::{Deserialize, Serialize};
use serde_json::{Value as Json, json};
use xxhash_rust::xxh3::xxh3_64;

use crate::SiftError;

/// The grid that is tried where no other is named.
pub const SHIPPED: &str = include_str!("grid.toml");

/// Most conditions of a grid: each is a bit.
const MOST: usize = 31;

/// Fields that a claim's stratum holds: free pieces are matched by them in any case.
const MATCHED: [&str; 4] = ["defended", "phase", "band", "time_class"];

/// A grid file.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    format: u32,
    #[serde(default, rename = "$schema")]
    _schema: Option<String>,
    kinds: Vec<Kind>,
    k: Vec<u8>,
    turns: Vec<u32>,
    within: u32,
    outcome: Outcome,
    most_conditions: usize,
    open_at_most: usize,
    conditions: toml::Table,
    /// Fields that every claim of the grid has: those of every sort of question.
    #[serde(default)]
    games: toml::Table,
}

/// A grid. In the states of its counts it is the text of its file.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub struct Grid {
    text: String,
    file: File,
    /// Each value of each field.
    pub conditions: Vec<Tested>,
    /// A claim with nothing but the fields that all claims of the grid have.
    games: Claim,
    tried: Vec<Tried>,
}

impl From<Grid> for String {
    fn from(grid: Grid) -> String {
        grid.text
    }
}

impl TryFrom<String> for Grid {
    type Error = SiftError;

    fn try_from(text: String) -> Result<Grid, SiftError> {
        Grid::parse("the grid of a state", &text)
    }
}

/// A value of a field that is tried.
#[derive(Debug, Clone)]
pub struct Tested {
    /// The field.
    key: String,
    /// Its line in a claim's file.
    line: String,
    /// A claim with this condition alone.
    claim: Claim,
    /// Whether free pieces must meet it too, and their strata do not imply.
    pub of_free: bool,
}

/// A claim that is tried.
#[derive(Debug, Clone)]
pub struct Tried {
    /// Kind of the piece.
    pub kind: Kind,
    /// Safe squares, at most.
    pub k: u8,
    /// Turns restrained by then.
    pub turns: u32,
    /// Bits of its conditions.
    pub bits: u32,
    /// The claim.
    pub claim: Claim,
    /// Its file.
    pub text: String,
}

impl Tried {
    /// Name of its file.
    pub fn file_name(&self) -> String {
        format!("{}.toml", self.claim.name)
    }
}

impl Grid {
    /// Reads a grid from the text of its file, which is named in errors.
    ///
    /// # Errors
    ///
    /// Where the file is not a grid, or a value is not one that a claim's field takes.
    pub fn parse(name: &str, text: &str) -> Result<Grid, SiftError> {
        let invalid = |what: String| SiftError::Grid {
            file: name.to_owned(),
            what,
        };
        let file: File = toml::from_str(text).map_err(|error| {
            let line = error
                .span()
                .map_or(1, |span| 1 + text[..span.start].matches('\n').count());
            invalid(format!("line {line}: {}", error.message()))
        })?;
        if file.format != 1 {
            return Err(invalid(format!(
                "format {}, this program reads 1",
                file.format
            )));
        }
        if !matches!(file.outcome, Outcome::Lost | Outcome::Captured) {
            return Err(invalid("outcome is lost or captured".to_owned()));
        }
        if let Some(turns) = file.turns.iter().find(|turns| **turns < 2) {
            return Err(invalid(format!(
                "turns: a piece is restrained for two turns at least, not {turns}"
            )));
        }
        let of_every_sort = Claim::of_every_sort();
        if let Some(key) = (file.games.keys()).find(|key| !of_every_sort.contains(&key.as_str())) {
            return Err(invalid(format!(
                "games: {key} cannot stand here; {} can",
                of_every_sort.join(", ")
            )));
        }
        let games = file.claim("games", "T", (Kind::Rook, 2, 2), "")?.0;
        games.check()?;
        let mut grid = Grid {
            text: text.to_owned(),
            conditions: Vec::new(),
            games,
            tried: Vec::new(),
            file,
        };
        for (key, values) in &grid.file.conditions {
            let tested = grid.file.tested(key, values);
            grid.conditions.extend(tested.map_err(|error| match error {
                Refused::Key(what) => invalid(format!("conditions: {key} {what}")),
                Refused::Value(error) => error.into(),
            })?);
        }
        if grid.conditions.len() > MOST {
            return Err(invalid(format!("more than {MOST} conditions")));
        }
        grid.tried = grid.all()?;
        Ok(grid)
    }

    /// A claim with nothing but the fields that all claims of the grid have: which games and sides are
    /// looked at, and how wide rating bands are.
    pub fn games(&self) -> &Claim {
        &self.games
    }

    /// Hash of the file's text.
    pub fn hash(&self) -> String {
        format!("{:016x}", xxh3_64(self.text.as_bytes()))
    }

    /// Every claim of the grid.
    pub fn tried(&self) -> &[Tried] {
        &self.tried
    }

    /// Numbers of safe squares that are tried.
    pub fn k(&self) -> &[u8] {
        &self.file.k
    }

    /// Numbers of turns that are tried.
    pub fn turns(&self) -> &[u32] {
        &self.file.turns
    }

    /// Kinds that are tried.
    pub fn kinds(&self) -> &[Kind] {
        &self.file.kinds
    }

    /// The horizon in moves.
    pub fn within(&self) -> u32 {
        self.file.within
    }

    /// What is counted.
    pub fn outcome(&self) -> Outcome {
        self.file.outcome
    }

    /// Claims asked of the locked half, at most.
    pub fn open_at_most(&self) -> usize {
        self.file.open_at_most
    }

    /// What rows are asked: nothing, then each condition, as a claim with it alone asks.
    pub fn filters(&self) -> Vec<Vec<Condition<'_>>> {
        let left_out = ["kinds", "k", "turns", "restrained"];
        let each = self.conditions.iter().map(|tested| {
            tested
                .claim
                .conditions(AskedRows::RestrainedTurns, &left_out)
        });
        std::iter::once(Vec::new()).chain(each).collect()
    }

    /// Bits of the conditions that free pieces must meet and their strata do not imply.
    pub fn of_free(&self) -> u32 {
        let bits = self.conditions.iter().enumerate();
        bits.filter(|(_, tested)| tested.of_free)
            .fold(0, |all, (bit, _)| all | 1 << bit)
    }

    /// Bits of the conditions that free pieces must meet, be it by their strata.
    pub fn of_both(&self) -> u32 {
        let bits = self.conditions.iter().enumerate();
        bits.filter(|(_, tested)| tested.of_free || MATCHED.contains(&&*tested.key))
            .fold(0, |all, (bit, _)| all | 1 << bit)
    }

    fn all(&self) -> Result<Vec<Tried>, SiftError> {
        let mut tried = Vec::new();
        for &kind in &self.file.kinds {
            for &k in &self.file.k {
                for &turns in &self.file.turns {
                    for bits in self.combinations() {
                        tried.push(self.try_with((kind, k, turns), bits)?);
                    }
                }
            }
        }
        Ok(tried)
    }

    /// Sets of conditions, at most so many at once and one of a field.
    fn combinations(&self) -> Vec<u32> {
        let mut all = vec![0u32];
        let mut from = 0;
        for _ in 0..self.file.most_conditions {
            let until = all.len();
            for place in from..until {
                let bits = all[place];
                let first = (u32::BITS - bits.leading_zeros()) as usize;
                let keys: Vec<&str> = self.of_bits(bits).map(|tested| &*tested.key).collect();
                for (bit, tested) in self.conditions.iter().enumerate().skip(first) {
                    if !keys.contains(&&*tested.key) {
                        all.push(bits | 1 << bit);
                    }
                }
            }
            from = until;
        }
        all
    }

    fn of_bits(&self, bits: u32) -> impl Iterator<Item = &Tested> {
        let all = self.conditions.iter().enumerate();
        all.filter(move |(bit, _)| bits >> bit & 1 == 1)
            .map(|(_, tested)| tested)
    }

    fn try_with(&self, (kind, k, turns): (Kind, u8, u32), bits: u32) -> Result<Tried, SiftError> {
        let lines: String = self.of_bits(bits).map(|tested| &*tested.line).collect();
        let words = lines.replace(|c: char| !c.is_ascii_alphanumeric(), " ");
        let words: Vec<&str> = words.split_whitespace().collect();
        let mut name = format!("{kind}-k{k}");
        if turns > 2 {
            name.push_str(&format!("-{turns}-turns"));
        }
        if !words.is_empty() {
            name.push_str(&format!("-{}", words.join("-")));
        }
        let base = self.file.claim(&name, "T", (kind, k, turns), &lines)?.0;
        let title = capital(&in_words(&base));
        let title = format!("{title}: {} more often?", base.of_piece());
        let (claim, text) = self.file.claim(&name, &title, (kind, k, turns), &lines)?;
        Ok(Tried {
            kind,
            k,
            turns,
            bits,
            claim,
            text,
        })
    }
}

/// Fields that the grid sets itself, or that no restrained piece is asked.
const SET: [&str; 7] = [
    "kinds",
    "k",
    "turns",
    "restrained",
    "within",
    "outcome",
    "attacked",
];

/// Why a field cannot be tried.
enum Refused {
    /// The field cannot stand there.
    Key(&'static str),
    /// A value is not one that a claim's field takes.
    Value(AskError),
}

impl From<AskError> for Refused {
    fn from(error: AskError) -> Refused {
        Refused::Value(error)
    }
}

impl File {
    /// The values of a field among the conditions.
    fn tested(&self, key: &str, values: &toml::Value) -> Result<Vec<Tested>, Refused> {
        if SET.contains(&key) {
            return Err(Refused::Key("cannot stand here"));
        }
        if Claim::of_every_sort().contains(&key) {
            let why = "is of all claims together: write it under [games]";
            return Err(Refused::Key(why));
        }
        let values = values.as_array();
        let values = values.ok_or(Refused::Key("is not a list of values"))?;
        let one = |value| {
            let line = format!("{key} = {value}\n");
            let claim = self.claim("condition", "T", (Kind::Rook, 2, 2), &line)?.0;
            claim.check()?;
            let asked = claim.conditions(AskedRows::FreeBesideRestrained, &["kinds"]);
            Ok(Tested {
                of_free: !asked.is_empty() && !MATCHED.contains(&key),
                key: key.to_owned(),
                line,
                claim,
            })
        };
        values.iter().map(one).collect()
    }

    /// A claim, and its file.
    fn claim(
        &self,
        name: &str,
        title: &str,
        (kind, k, turns): (Kind, u8, u32),
        lines: &str,
    ) -> Result<(Claim, String), AskError> {
        let games = self.games.iter();
        let games: String = games
            .map(|(key, value)| format!("{key} = {value}\n"))
            .collect();
        let text = format!(
            "# A training claim. Every field is described in schemas/claim.schema.json.\nformat = 1\nabout = \"claim\"\ntitle = {title:?}\ntext = \"\"\"\nTried with many others on one half of the players, and asked of the other half once it had been \\\nchosen.\n\"\"\"\n\nkinds = [\"{kind}\"]\nk = {k}\nrestrained = \"yes\"\nturns = {turns}\n{lines}{games}developed = \"yes\"\nwithin = {}\noutcome = \"{}\"\n",
            self.within, self.outcome,
        );
        let claim = Claim::parse(name, &format!("{name}.toml"), &text)?;
        Ok((claim, text))
    }
}

/// The pieces of a claim and its filters in words.
pub fn in_words(claim: &Claim) -> String {
    let mut words = claim.in_words();
    for said in claim.said() {
        if !["Developed", "Restrained", "Stands"].contains(&said.name) {
            words.push_str(&format!("; {}: {}", said.name.to_lowercase(), said.words));
        }
    }
    words
}

fn capital(words: &str) -> String {
    hobble_report::number::capital(words)
}

/// The JSON schema of grid files.
pub fn schema() -> Json {
    let list =
        |items: Json| json!({"type": "array", "minItems": 1, "uniqueItems": true, "items": items});
    let kinds: Vec<&str> = Kind::ALL.iter().map(|kind| kind.name()).collect();
    let of_every_sort = Claim::of_every_sort();
    let games = Claim::properties().into_iter();
    let games: serde_json::Map<String, Json> = games
        .filter(|(name, _)| of_every_sort.contains(name))
        .map(|(name, property)| (name.to_owned(), property))
        .collect();
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A grid of training claims to be tried by hobble sift",
        "type": "object",
        "required": ["format", "kinds", "k", "turns", "within", "outcome", "most_conditions", "open_at_most", "conditions"],
        "additionalProperties": false,
        "properties": {
            "$schema": {"type": "string"},
            "format": {"const": 1, "description": "Version of the format of this file."},
            "kinds": with(list(json!({"enum": kinds})), "Kinds of piece; each is tried by itself."),
            "k": with(list(json!({"type": "integer", "minimum": 0, "maximum": 4})), "Safe squares at most; each number is tried."),
            "turns": with(list(json!({"type": "integer", "minimum": 2, "maximum": 50})), "Turns that the piece has been restrained for; each number is tried. 2 is the landmark."),
            "within": {"enum": [3, 5, 10, 15, 20], "description": "Moves within which the outcome counts."},
            "outcome": {"enum": ["lost", "captured"], "description": "What is counted."},
            "most_conditions": {"type": "integer", "minimum": 0, "description": "Conditions at once, at most."},
            "open_at_most": {"type": "integer", "minimum": 0, "description": "Claims that are asked of the locked half, at most: those with the highest lower limit on the other half."},
            "conditions": {
                "type": "object",
                "additionalProperties": {"type": "array"},
                "description": "Fields of a claim (schemas/claim.schema.json), each with the list of values that are tried, 31 in all.",
            },
            "games": {
                "type": "object",
                "additionalProperties": false,
                "properties": games,
                "description": "Which games and sides are looked at, and how wide rating bands are, in all claims: fields that every sort of question has.",
            },
        },
    })
}

fn with(mut schema: Json, text: &str) -> Json {
    schema["description"] = text.into();
    schema
}
