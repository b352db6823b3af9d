//! `hobble manual`

use std::io::{Write as _, stdout};

use clap::CommandFactory as _;

use crate::arguments::Arguments;

/// Prints the manual page: the program first, then each of its commands.
pub fn run() -> anyhow::Result<bool> {
    let mut text = Vec::new();
    let mut program = Arguments::command();
    program.build();
    clap_mangen::Man::new(program.clone()).render(&mut text)?;
    for command in program.get_subcommands().filter(|c| !c.is_hide_set()) {
        let page = clap_mangen::Man::new(command.clone());
        page.render_title(&mut text)?;
        page.render_name_section(&mut text)?;
        page.render_synopsis_section(&mut text)?;
        page.render_options_section(&mut text)?;
        page.render_extra_section(&mut text)?;
    }
    stdout().lock().write_all(&text)?;
    Ok(true)
}
