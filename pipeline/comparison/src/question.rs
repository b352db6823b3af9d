//! A comparison of restrained or held pieces with free ones, as a small TOML file says it.

use hobble_conditions::AskError;
use hobble_conditions::fields::shape::{number, words as listed};
use hobble_conditions::filter_keys as keys;
use hobble_conditions::shipped::Source;
use hobble_conditions::terms::{Key, YesNo};
use hobble_conditions::words;

/// Most examples a question may ask for.
pub const MAX_EXAMPLES: usize = 12;

hobble_conditions::question_file! {
    /// What a comparison asks.
    pub struct Question("comparison", "A hobble question") {
        #[serde(default)]
        head,
        kinds: keys::Kinds,
        k: keys::SafeSquares,
        restrained: keys::Restrained,
        cause: keys::Causes,
        by: keys::Mover,
        quiet: keys::Quiet,
        squares_taken: keys::SquaresTaken,
        wedge: keys::Wedge,
        stands: keys::Stands,
        squares: keys::OnSquares,
        within: keys::Within,
        outcome: keys::Counted,
        attacked: keys::Attacked,
        defended: keys::Defended,
        defenders: keys::Defenders,
        defended_by: keys::DefendedBy,
        others_held: keys::OthersHeld,
        others_restrained: keys::OthersRestrained,
        phase: keys::Phases,
        band: keys::Bands,
        time_class: keys::TimeClasses,
        strata: Strata,
        group_by: GroupBy,
        minimum_turns: keys::MinimumTurns<20> => "A side with fewer gets no intervals.",
        minimum_folds: keys::MinimumFolds => "A side with turns in fewer gets no intervals.",
        minimum_outcome_folds: MinimumOutcomeFolds,
        #[serde(default)]
        examples: Examples,
    }
}

const STRATA: [Key; 9] = [
    Key::Kind,
    Key::Phase,
    Key::Band,
    Key::TimeClass,
    Key::Defended,
    Key::Move,
    Key::Balance,
    Key::SquaresBefore,
    Key::OthersHeld,
];

hobble_conditions::fields! {
    /// What must be equal for a free piece to be comparable with a restricted one; empty for no matching.
    Strata("strata"): Vec<Key> = STRATA.to_vec(), in listed().as_listed();

    /// One row for each combination of these; empty for a single row.
    GroupBy("group_by"): Vec<Key> = vec![Key::Kind], in listed().as_listed();

    /// Least folds with a counted outcome on a side for its jackknife intervals to be given.
    MinimumOutcomeFolds("minimum_outcome_folds"): u32 = 5, in number(0..=64);

    /// Number of example games.
    Examples("examples"): usize = 3, in number(0..=MAX_EXAMPLES as i64);
}

impl Question {
    /// Whether the question is about restrained pieces, not about held ones in general.
    pub fn is_of_restrained(&self) -> bool {
        self.restrained == YesNo::Yes
    }

    /// What its pieces are: `restrained` or `held`.
    pub fn state(&self) -> &'static str {
        words::state(self.restrained)
    }

    /// The same as a heading.
    pub fn state_as_heading(&self) -> &'static str {
        if self.is_of_restrained() {
            "Restrained"
        } else {
            "Held"
        }
    }

    /// A shipped question by its name, or a question file by its path.
    ///
    /// # Errors
    ///
    /// Where there is no such question or its file is wrong: names file, line and field.
    pub fn load(name_or_path: &str) -> Result<Question, AskError> {
        let source = Source::find(name_or_path)?;
        Question::parse(&source.name, &source.file, &source.text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use hobble_conditions::Overrides;
    use hobble_conditions::terms::{Kind, Outcome, YesNo};

    fn parse(rest: &str) -> Result<Question, AskError> {
        let text = format!("format = 1\ntitle = \"T\"\ntext = \"x\"\n{rest}");
        Question::parse("q", "q.toml", &text)
    }

    fn fails(rest: &str, want: &str) {
        let got = parse(rest).unwrap_err().to_string();
        assert_eq!(got, want);
    }

    #[test]
    fn shipped_questions_load_by_name() {
        for (name, k, state) in [
            ("restrained-piece-lost", 1, "restrained"),
            ("held-piece-lost", 2, "held"),
        ] {
            let question = Question::load(name).unwrap();
            assert_eq!((question.k, question.within), (k, 10));
            assert_eq!((question.name.as_str(), question.state()), (name, state));
        }
    }

    #[test]
    fn defaults() {
        let question = parse("").unwrap();
        assert_eq!(question.kinds, Kind::ALL);
        assert_eq!((question.k, question.within), (2, 10));
        assert_eq!(question.outcome, Outcome::Lost);
        assert_eq!(question.group_by, [Key::Kind]);
        assert_eq!((question.minimum_turns, question.minimum_folds), (20, 5));
    }

    #[test]
    fn errors_name_file_line_and_field() {
        fails(
            "\nk = 7",
            "q.toml, line 5, field \"k\": 7 is not a whole number from 0 to 4",
        );
        fails(
            "k = -1",
            "q.toml, line 4, field \"k\": -1 is not a whole number from 0 to 4",
        );
        fails(
            "k = \"2\"",
            "q.toml, line 4, field \"k\": invalid type: string \"2\", expected a whole number",
        );
        fails(
            "within = 7",
            "q.toml, line 4, field \"within\": 7 moves is not one of 3, 5, 10, 15, 20",
        );
        fails(
            "kinds = [\n  \"knight\",\n  \"pawn\"]",
            "q.toml, line 6, field \"kinds\": \"pawn\" is not one of knight, bishop, rook, queen",
        );
        fails(
            "kinds = []",
            "q.toml, line 4, field \"kinds\": name at least one kind of piece",
        );
        fails(
            "group_by = [\"phase\", \"phase\"]",
            "q.toml, line 4, field \"group_by\": \"phase\" stands here twice",
        );
        fails(
            "restrained = true",
            "q.toml, line 4, field \"restrained\": invalid type: boolean `true`, expected a text in quotes",
        );
        fails(
            "phase = \"opening\"",
            "q.toml, line 4, field \"phase\": invalid type: string \"opening\", expected a list, as [\"…\", \"…\"]",
        );
        let unknown = parse("knights = 3").unwrap_err().to_string();
        assert!(unknown.starts_with(
            "q.toml, line 4, field \"knights\": there is no such field; the fields are format,"
        ));
        let syntax = parse("k = = 2").unwrap_err().to_string();
        assert!(syntax.starts_with("q.toml, line 4: "), "{syntax}");
        assert!(!syntax.contains('\n'));
        let missing = Question::parse("q", "q.toml", "title = \"T\"")
            .unwrap_err()
            .to_string();
        assert_eq!(
            missing,
            "q.toml, line 1, field \"format\": this field is missing: write `format = 1`"
        );
        let format = Question::parse("q", "q.toml", "format = 2")
            .unwrap_err()
            .to_string();
        assert_eq!(format, "q.toml, line 1, field \"format\": 2 is not 1");
    }

    #[test]
    fn unknown_names_list_what_can_be_asked() {
        let got = Question::load("held").unwrap_err().to_string();
        let first = "no question \"held\": ask one of scope-of-a-side, restrained-piece-lost, ";
        assert!(got.starts_with(first), "{got}");
        assert!(got.ends_with(", or name a question file"), "{got}");
        let got = Question::load("no/such/file.toml").unwrap_err().to_string();
        assert_eq!(got, "question file no/such/file.toml cannot be read");
    }

    #[test]
    fn a_file_is_named_by_its_stem() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("rooks.toml");
        std::fs::write(
            &path,
            "\u{feff}format = 1\r\ntitle = \"T\"\r\ntext = \"x\"\r\nkinds = [\"rook\"]\r\n",
        )
        .unwrap();
        let question = Question::load(path.to_str().unwrap()).unwrap();
        assert_eq!(question.name, "rooks");
        assert_eq!(question.kinds, [Kind::Rook]);
    }

    #[test]
    fn overrides_go_before_the_file_and_keep_its_limits() {
        let question = parse("k = 1").unwrap();
        let given = Overrides {
            k: Some(3),
            within: Some(5),
            band_width: Some(400),
            ..Overrides::default()
        };
        let got = question.with(&given).unwrap();
        assert_eq!((got.k, got.within, got.band_width), (3, 5, 400));
        for points in [0, 150, 1100] {
            let bad = Overrides {
                band_width: Some(points),
                ..Overrides::default()
            };
            let bad = question.with(&bad).unwrap_err().to_string();
            let why = format!("{points} is not a multiple of 100 from 100 to 1000");
            assert!(bad.contains("band_width") && bad.ends_with(&why), "{bad}");
        }
        assert_eq!(question.with(&Overrides::default()).unwrap(), question);
        let bad = Overrides {
            k: Some(5),
            ..Overrides::default()
        };
        assert_eq!(
            question.with(&bad).unwrap_err().to_string(),
            "k: 5 is not a whole number from 0 to 4"
        );
        let not_asked = Overrides {
            developed: Some(YesNo::Yes),
            ..Overrides::default()
        };
        assert_eq!(
            question.with(&not_asked).unwrap_err().to_string(),
            "developed: a question of this sort has no such field"
        );
        let bad = Overrides {
            within: Some(4),
            ..Overrides::default()
        };
        assert_eq!(
            question.with(&bad).unwrap_err().to_string(),
            "within: 4 moves is not one of 3, 5, 10, 15, 20"
        );
    }
}
