//! `hobble`: how few safe squares each piece has, what took them away, and what became of
//! the piece.

mod allocator;
mod arguments;
mod closed_pipe;
mod command;
mod fixed_date;
mod progress;
mod values;
mod words;

use std::process::ExitCode;

use clap::Parser as _;

use arguments::{Arguments, Command};
use closed_pipe::is_closed_pipe;

/// Exit code where something was done but not all is well: an archive that broke off, a
/// total that does not reconcile.
const NOT_ALL_WELL: u8 = 1;

/// Exit code where nothing could be done.
const FAILED: u8 = 2;

fn main() -> ExitCode {
    allocator::give_back();
    let arguments = Arguments::parse();
    let result = match arguments.command {
        Command::Scan(scan) => command::scan::run(&scan),
        Command::Desk(desk) => command::desk::run(&desk),
        Command::Gather(gather) => command::gather::run(&gather),
        Command::Ask(ask) => command::ask::run(&ask),
        Command::Page(page) => command::page::run(&page),
        Command::Handout(sheet) => command::handout::handout(&sheet),
        Command::Examples(examples) => command::examples::run(&examples),
        Command::Find(find) => command::find::run(&find),
        Command::Quiz(quiz) => command::quiz::run(&quiz),
        Command::Norms(norms) => command::norms::run(&norms),
        Command::Sift(sift) => command::sift::run(&sift),
        Command::Game(game) => command::game::run(&game),
        Command::Lesson(lesson) => command::lesson::run(&lesson),
        Command::Questions => command::ask::list(),
        Command::Check(check) => command::check::run(&check),
        Command::Deposit(deposit) => command::deposit::run(&deposit),
        Command::Position(position) => command::position::run(&position),
        Command::Schema(schema) => command::schema::run(&schema),
        Command::Keys(keys) => command::keys::run(&keys),
        Command::Repeats(repeats) => command::repeats::run(&repeats),
        Command::Dictionary => command::dictionary::run(),
        Command::Codebook(codebook) => command::codebook::run(&codebook),
        Command::Completions(completions) => command::completions::run(&completions),
        Command::Manual => command::manual::run(),
    };
    match result {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::from(NOT_ALL_WELL),
        Err(error) if is_closed_pipe(&error) => ExitCode::SUCCESS,
        Err(error) => {
            words::say(&format!("hobble: {error:#}"));
            ExitCode::from(FAILED)
        }
    }
}
