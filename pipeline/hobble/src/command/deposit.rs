//! `hobble deposit`

use std::io::{Write as _, stdout};

use hobble_deposit::{About, Deposit};

use crate::arguments;
use crate::fixed_date::date;
use crate::words::{counted, line, say};

/// Writes a deposit.
pub fn run(arguments: &arguments::Deposit) -> anyhow::Result<bool> {
    let about = About {
        title: arguments.title.clone(),
        creators: arguments.creator.clone(),
        publisher: arguments.publisher.clone(),
        licence: arguments.licence.clone(),
        date: date()?,
    };
    let deposit = Deposit::new(&arguments.data, about)?;
    let not_given = deposit.not_given();
    let written = deposit.write(&arguments.out)?;
    for what in not_given {
        say(&format!("not given: {what}"));
    }
    writeln!(
        stdout(),
        "{}: {} of tables, {}",
        line(&arguments.out.to_string_lossy()),
        counted(written.files as u64, "file"),
        counted(written.bytes, "byte")
    )?;
    Ok(true)
}
