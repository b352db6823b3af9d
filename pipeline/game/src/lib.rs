//! hobble-game
