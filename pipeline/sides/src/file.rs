//! A question about whole sides, as a small TOML file says it.

use hobble_conditions::fields::shape::number;
use hobble_conditions::filter_keys as keys;

hobble_conditions::question_file! {
    /// What is asked about whole sides.
    pub struct SideQuestion("sides", "A hobble question about a whole side") => SideQuestion::in_order {
        head,
        from_ply: FromPly,
        to_ply: ToPly,
        k: keys::SafeSquares,
        within: keys::Within => "Material is looked at so many moves later.",
        phase: keys::Phases,
        band: keys::Bands => "The owner is the side on move.",
        time_class: keys::TimeClasses,
    }
}

hobble_conditions::fields! {
    /// Plies played before the first position looked at.
    FromPly("from_ply"): u16 = 20, in number(1..=400);

    /// Plies played before the last position looked at.
    ToPly("to_ply"): u16 = 80, in number(1..=400);
}

impl SideQuestion {
    /// The question as read, the range of plies from its lower end to its upper.
    fn in_order(self) -> SideQuestion {
        SideQuestion {
            from_ply: self.from_ply.min(self.to_ply),
            to_ply: self.to_ply.max(self.from_ply),
            ..self
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use hand_made_tables::{question, refused};

    #[test]
    fn defaults() {
        let asked = question::<SideQuestion>("").unwrap();
        let numbers = (asked.from_ply, asked.to_ply, asked.k, asked.within);
        assert_eq!(numbers, (20, 80, 2, 10));
        let turned = question::<SideQuestion>("from_ply = 60\nto_ply = 40").unwrap();
        assert_eq!((turned.from_ply, turned.to_ply), (40, 60));
    }

    #[test]
    fn mistakes_name_line_and_field() {
        refused::<SideQuestion>(&[
            (
                "from_ply = 401",
                "5, field \"from_ply\": 401 is not a whole number from 1 to 400",
            ),
            (
                "within = 4",
                "5, field \"within\": 4 moves is not one of 3, 5, 10, 15, 20",
            ),
        ]);
    }
}
