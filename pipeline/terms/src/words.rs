//! Enums whose members have one spelling each.

use std::fmt::Display;

/// An enum whose members have one spelling each, as [`words!`](crate::words!) declares it.
pub trait Word: Copy + Ord + Display + 'static {
    /// Every member, in order.
    const WORDS: &'static [Self];

    /// The spelling of the member.
    fn word(self) -> &'static str;
}

/// Declares an enum whose members have one spelling each, in files, tables and answers. The
/// number of a member is its place in the list.
#[macro_export]
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$inner:meta])* $member:ident = $word:literal),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(
            Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash,
            ::serde::Serialize, ::serde::Deserialize,
        )]
        #[repr(u8)]
        pub enum $name { $($(#[$inner])* #[serde(rename = $word)] $member),+ }

        impl $name {
            /// Number of members.
            pub const COUNT: usize = [$($word),+].len();

            /// Every member, in order.
            pub const ALL: [$name; $name::COUNT] = [$($name::$member),+];

            /// The spelling of the member.
            #[inline]
            pub const fn name(self) -> &'static str {
                match self { $($name::$member => $word),+ }
            }

            /// The member with this spelling, if there is one.
            pub fn from_name(name: &str) -> Option<Self> {
                match name { $($word => Some($name::$member),)+ _ => None }
            }
        }

        impl $crate::Word for $name {
            const WORDS: &'static [Self] = &$name::ALL;

            fn word(self) -> &'static str {
                self.name()
            }
        }

        impl ::std::fmt::Display for $name {
            fn fmt(&self, f: &mut ::std::fmt::Formatter<'_>) -> ::std::fmt::Result {
                f.pad(self.name())
            }
        }
    };
}

#[cfg(test)]
mod tests {
    words! {
        /// A word.
        Word {
            /// One.
            One = "the one",
            /// Two.
            Two = "the other",
        }
    }

    #[test]
    fn every_member_reads_back() {
        for word in Word::ALL {
            assert_eq!(Word::from_name(word.name()), Some(word));
            let json = serde_json::to_string(&word).unwrap();
            assert_eq!(json, format!("\"{word}\""));
            assert_eq!(serde_json::from_str::<Word>(&json).unwrap(), word);
        }
        assert_eq!(Word::from_name("One"), None);
        assert_eq!((Word::One as u8, Word::Two as u8, Word::COUNT), (0, 1, 2));
    }
}
