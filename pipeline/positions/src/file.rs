//! A search for positions, as a small TOML file says it.

use hobble_conditions::fields::shape::{number, word};
use hobble_conditions::filter_keys as keys;
use hobble_terms::words;

words! {
    /// The order that positions are listed in.
    Order {
        /// The spells that lasted longest first.
        Longest = "longest",
        /// Those that began with most safe squares taken first.
        Squares = "squares",
        /// As the games stand in their archives.
        Archive = "archive",
    }
}

hobble_conditions::question_file! {
    /// Which positions are looked for.
    pub struct PositionSearch("positions", "A hobble search for positions") {
        head,
        keys of spells,
        ended: keys::Ends,
        order: Listed,
        count: Count,
    }
}

hobble_conditions::fields! {
    /// The order that positions are listed in.
    Listed("order"): Order = Order::Longest, in word();

    /// Positions listed, at most.
    Count("count"): usize = 50, in number(1..=500);
}
