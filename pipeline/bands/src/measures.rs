//! What is measured, and what it is split by.

use super::chances::PARTS;
use hobble_statistics::risk::Scale;
use hobble_terms::words;

words! {
    /// What the games are split by.
    Split {
        /// Not split.
        All = "all",
        /// Owner's rating band.
        Band = "band",
        /// Time class of the game.
        TimeClass = "time_class",
        /// Phase of the game.
        Phase = "phase",
        /// Kind of piece.
        Kind = "kind",
        /// Owner's colour.
        Color = "color",
        /// First letter of the game's ECO code.
        Eco = "eco",
    }
}

words! {
    /// What is measured.
    Measure {
        /// Spells a player has in a game.
        SpellsPerGame = "spells_per_game",
        /// Restraints a player's pieces are put under in a game.
        RestraintsPerGame = "restraints_per_game",
        /// Share of restraints after which the piece is soon lost.
        RestraintsLost = "restraints_lost",
        /// Safe squares a move takes from the opponent.
        SquaresTakenPerMove = "squares_taken_per_move",
        /// Share of piece-turns held.
        HeldShare = "held_share",
        /// Held piece-turns a turn of the owner.
        HeldTurnsPerTurn = "held_turns_per_turn",
        /// Share of held turns after which the piece is soon lost.
        LossRisk = "loss_risk",
        /// The same, were every cell's held pieces mixed alike.
        LossRiskStandardised = "loss_risk_standardised",
        /// Share of held turns that end with the piece freed.
        ReleaseRate = "release_rate",
        /// Share of spells that end with the piece lost.
        SpellsLost = "spells_lost",
        /// Chances to restrain a piece that a player has in a game.
        ChancesPerGame = "chances_per_game",
        /// Share of them taken.
        ChancesTaken = "chances_taken",
        /// Share of them that a quiet move drawn at random would take.
        ChancesAtRandom = "chances_at_random",
    }
}

impl Measure {
    /// Name for readers.
    pub const fn title(self) -> &'static str {
        match self {
            Measure::SpellsPerGame => "Spells per game",
            Measure::RestraintsPerGame => "Restraints per game",
            Measure::RestraintsLost => "Restrained pieces lost",
            Measure::SquaresTakenPerMove => "Squares taken per move",
            Measure::HeldShare => "Share of piece-turns held",
            Measure::HeldTurnsPerTurn => "Held pieces per turn",
            Measure::LossRisk => "Loss risk, raw",
            Measure::LossRiskStandardised => "Loss risk, standardised",
            Measure::ReleaseRate => "Release rate",
            Measure::SpellsLost => "Spells that end in loss",
            Measure::ChancesPerGame => "Chances to restrain per game",
            Measure::ChancesTaken => "Chances taken",
            Measure::ChancesAtRandom => "Chances a random quiet move takes",
        }
    }

    /// Name for a small panel.
    pub const fn short(self) -> &'static str {
        match self {
            Measure::SpellsPerGame => "Spells per game",
            Measure::RestraintsPerGame => "Restraints",
            Measure::RestraintsLost => "Restrained, lost",
            Measure::SquaresTakenPerMove => "Squares taken",
            Measure::HeldShare => "Share held",
            Measure::HeldTurnsPerTurn => "Held per turn",
            Measure::LossRisk => "Loss risk",
            Measure::LossRiskStandardised => "Loss risk, st.",
            Measure::ReleaseRate => "Release rate",
            Measure::SpellsLost => "Spells lost",
            Measure::ChancesPerGame => "Chances per game",
            Measure::ChancesTaken => "Chances taken",
            Measure::ChancesAtRandom => "Taken at random",
        }
    }

    /// Unit of the figure.
    pub const fn unit(self) -> &'static str {
        match self {
            Measure::SpellsPerGame => "spells per player-game",
            Measure::RestraintsPerGame => "restraints per player-game",
            Measure::RestraintsLost => "share of restraints",
            Measure::SquaresTakenPerMove => "squares per move",
            Measure::HeldShare => "share of piece-turns",
            Measure::HeldTurnsPerTurn => "held piece-turns per own turn",
            Measure::LossRisk | Measure::LossRiskStandardised => "share of held piece-turns",
            Measure::ReleaseRate => "releases per turn in a spell",
            Measure::SpellsLost => "share of spells",
            Measure::ChancesPerGame => "chances per player-game",
            Measure::ChancesTaken | Measure::ChancesAtRandom => "share of chances",
        }
    }

    /// What `n` counts: the denominator.
    pub const fn counted(self) -> &'static str {
        match self {
            Measure::SpellsPerGame | Measure::RestraintsPerGame => "player-games",
            Measure::RestraintsLost => "restraints",
            Measure::SquaresTakenPerMove => "moves",
            Measure::HeldShare => "piece-turns",
            Measure::HeldTurnsPerTurn => "own turns",
            Measure::LossRisk | Measure::LossRiskStandardised => "held piece-turns",
            Measure::ReleaseRate => "turns in spells",
            Measure::SpellsLost => "spells",
            Measure::ChancesPerGame => "player-games",
            Measure::ChancesTaken | Measure::ChancesAtRandom => "chances in the sample",
        }
    }

    /// Scale on which its intervals and tests are made: shares by their odds, other rates by
    /// their logarithm.
    pub const fn scale(self) -> Scale {
        match self {
            Measure::SpellsPerGame
            | Measure::RestraintsPerGame
            | Measure::SquaresTakenPerMove
            | Measure::HeldTurnsPerTurn
            | Measure::ChancesPerGame => Scale::Log,
            _ => Scale::Logit,
        }
    }

    /// Whether the figure is a share, shown in percent.
    pub const fn is_share(self) -> bool {
        matches!(self.scale(), Scale::Logit)
    }

    /// Whether the least number of games holds for it rather than that of turns.
    pub const fn counts_games(self) -> bool {
        matches!(
            self,
            Measure::SpellsPerGame | Measure::RestraintsPerGame | Measure::ChancesPerGame
        )
    }

    /// So many of what the denominator adds up are one of what `n` counts.
    pub const fn per(self) -> u64 {
        match self {
            Measure::ChancesAtRandom => PARTS as u64,
            _ => 1,
        }
    }

    /// Whether a level of the split can be set against all levels together: not where a level
    /// has a part of the numerator but all of the denominator.
    pub const fn comparable(self, split: Split) -> bool {
        !matches!(
            (self, split),
            (_, Split::All)
                | (
                    Measure::SpellsPerGame | Measure::RestraintsPerGame | Measure::ChancesPerGame,
                    Split::Phase | Split::Kind
                )
                | (Measure::HeldTurnsPerTurn, Split::Kind)
        )
    }

    /// Whether the tables give the measure for this split. The cube knows neither colour nor
    /// ECO: losses at held turns are not given for them, and the ends of spells stand in, which are
    /// given for all games too, as a bridge. Turns of a side belong to no phase.
    pub const fn given(self, split: Split) -> bool {
        match self {
            Measure::SpellsPerGame
            | Measure::RestraintsPerGame
            | Measure::RestraintsLost
            | Measure::SquaresTakenPerMove
            | Measure::ReleaseRate
            | Measure::ChancesPerGame
            | Measure::ChancesTaken
            | Measure::ChancesAtRandom => true,
            Measure::HeldShare => true,
            Measure::HeldTurnsPerTurn => !matches!(split, Split::Phase),
            Measure::LossRisk => !matches!(split, Split::Color | Split::Eco),
            Measure::LossRiskStandardised => {
                !matches!(split, Split::All | Split::Color | Split::Eco)
            }
            Measure::SpellsLost => {
                matches!(split, Split::All | Split::Kind | Split::Color | Split::Eco)
            }
        }
    }
}
