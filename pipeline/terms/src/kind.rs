//! Kinds of unit, and their values.

use shakmaty::Role;

use crate::words;

/// Value in pawns: 1, 3, 3, 5, 9 (common practice, no source); a king counts nothing.
#[inline]
pub const fn value(role: Role) -> i32 {
    match role {
        Role::Pawn => 1,
        Role::Knight | Role::Bishop => 3,
        Role::Rook => 5,
        Role::Queen => 9,
        Role::King => 0,
    }
}

/// Names of the kinds of unit, by [`unit_code`].
pub const UNIT_NAMES: [&str; 6] = ["pawn", "knight", "bishop", "rook", "queen", "king"];

/// Place of a kind of unit in [`UNIT_NAMES`].
#[inline]
pub const fn unit_code(role: Role) -> u8 {
    role as u8 - 1
}

/// Name of a kind of unit.
#[inline]
pub const fn unit_name(role: Role) -> &'static str {
    UNIT_NAMES[unit_code(role) as usize]
}

words! {
    /// Kind of piece, in the trade's narrow sense: no pawn, no king.
    Kind {
        /// Knight.
        Knight = "knight",
        /// Bishop.
        Bishop = "bishop",
        /// Rook.
        Rook = "rook",
        /// Queen.
        Queen = "queen",
    }
}

impl Kind {
    /// The kind of a unit; `None` for pawns and kings.
    pub const fn of(role: Role) -> Option<Kind> {
        match role {
            Role::Knight => Some(Kind::Knight),
            Role::Bishop => Some(Kind::Bishop),
            Role::Rook => Some(Kind::Rook),
            Role::Queen => Some(Kind::Queen),
            Role::Pawn | Role::King => None,
        }
    }

    /// The same for a library of chess rules.
    pub const fn role(self) -> Role {
        match self {
            Kind::Knight => Role::Knight,
            Kind::Bishop => Role::Bishop,
            Kind::Rook => Role::Rook,
            Kind::Queen => Role::Queen,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_and_units_have_the_same_names() {
        for role in Role::ALL {
            match Kind::of(role) {
                Some(kind) => {
                    assert_eq!(kind.name(), unit_name(role));
                    assert_eq!(kind.role(), role);
                }
                None => assert_eq!(Kind::from_name(unit_name(role)), None),
            }
        }
    }
}
