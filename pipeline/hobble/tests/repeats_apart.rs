//! Archives that are scanned apart, each with its list of repeats, are the tables of one scan.

mod common;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use arrow_array::cast::AsArray as _;
use common::{assert_refused, check, file, files, gather, hobble, manifest, scan, season, table};

const SMALL: [&str; 4] = ["--block-kib", "16", "--part-blocks", "2"];

/// Archives that share games: in one file, with each other, and under other spellings.
fn archives(folder: &Path) -> [PathBuf; 3] {
    let season = fs::read_to_string(season()).unwrap();
    let games: Vec<String> = (season.split("[Event ").skip(1))
        .map(|game| format!("[Event {game}"))
        .collect();
    assert_eq!(games.len(), 400);
    let loud = |games: &[String]| {
        let lines = games.iter().flat_map(|game| game.lines());
        let line = |line: &str| match line.starts_with("[White ") || line.starts_with("[Black ") {
            true => line
                .to_uppercase()
                .replacen("[WHITE", "[White", 1)
                .replacen("[BLACK", "[Black", 1),
            false => line.to_owned(),
        };
        lines.map(line).collect::<Vec<_>>().join("\n") + "\n"
    };
    let texts = [
        games[..250].concat(),
        loud(&games[200..]) + &games[380..].concat(),
        games[100..150].concat() + &games[390..].concat() + &loud(&games[..20]),
    ];
    let mut names = ["b.pgn", "c.pgn", "a.pgn"].into_iter();
    texts.map(|text| file(folder, names.next().unwrap(), text))
}

fn run(arguments: &[&str], paths: &[&Path]) -> Output {
    let output = hobble().args(arguments).args(paths).output();
    output.expect("the program runs")
}

fn well(output: Output) -> String {
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
    String::from_utf8(output.stdout).unwrap()
}

/// Writes the keys of all archives, in stripes and shares, and finds the repeats. Returns the lists
/// by the name of source and stripe: those of the shares joined.
fn lists(archives: &[PathBuf], folder: &Path, of: u64, shares: u64) -> BTreeMap<String, PathBuf> {
    let keys = folder.join("keys");
    for archive in archives {
        for index in 0..of {
            let stripe = format!("{index}/{of}");
            let shares = shares.to_string();
            let options = ["--stripe", &stripe, "--shares", &shares];
            let arguments = [&["keys"], &SMALL[..], &options, &["--out"]].concat();
            well(run(&arguments, &[&keys, archive]));
        }
    }
    let mut texts: BTreeMap<String, (String, Vec<String>)> = BTreeMap::new();
    for share in 0..shares {
        let end = match shares {
            1 => String::new(),
            _ => format!(".share-{share}"),
        };
        let name = |archive: &PathBuf, index| {
            let source = archive.file_name().unwrap().to_str().unwrap();
            match of {
                1 => source.to_owned(),
                _ => format!("{source}.{index}-of-{of}"),
            }
        };
        let names: Vec<String> = (archives.iter())
            .flat_map(|archive| (0..of).map(move |index| name(archive, index)))
            .collect();
        let files = names
            .iter()
            .map(|name| keys.join(format!("{name}{end}.keys.parquet")));
        let files: Vec<PathBuf> = files.collect();
        let out = folder.join(format!("lists-{share}"));
        let mut paths: Vec<&Path> = vec![&out];
        paths.extend(files.iter().map(PathBuf::as_path));
        well(run(&["repeats", "--out"], &paths));
        for name in names {
            let text = fs::read_to_string(out.join(format!("{name}.csv"))).unwrap();
            let (pass, rows) = text.split_once('\n').unwrap();
            let lines = rows.lines().skip(1).map(str::to_owned);
            let of = texts.entry(name).or_insert((pass.to_owned(), Vec::new()));
            // All shares are of one pass.
            assert_eq!(of.0, pass);
            of.1.extend(lines);
        }
    }
    let write = |(name, (pass, mut lines)): (String, (String, Vec<String>))| {
        lines.sort_by_key(|line| line.split(',').next().unwrap().parse::<u32>().unwrap());
        let path = folder.join(format!("{name}.csv"));
        let head = format!("{pass}\ngame,key,original_source,original_game\n");
        let lines: String = lines.into_iter().map(|line| line + "\n").collect();
        fs::write(&path, format!("{head}{lines}")).unwrap();
        (name, path)
    };
    texts.into_iter().map(write).collect()
}

#[test]
fn archives_scanned_apart_are_the_tables_of_one_scan() {
    for repeats in ["leave-out", "keep"] {
        let folder = tempfile::tempdir().unwrap();
        let archives = archives(folder.path());
        let whole = folder.path().join("whole");
        let options = [&SMALL[..], &["--repeats", repeats]].concat();
        let all: Vec<&Path> = archives.iter().map(PathBuf::as_path).collect();
        scan(&all, &whole, &options);
        for (of, shares) in [(1, 1), (3, 1), (2, 4)] {
            let pass = folder.path().join(format!("{of}-{shares}"));
            let lists = lists(&archives, &pass, of, shares);
            let mut apart = Vec::new();
            for archive in &archives {
                for index in 0..of {
                    let source = archive.file_name().unwrap().to_str().unwrap();
                    let name = match of {
                        1 => source.to_owned(),
                        _ => format!("{source}.{index}-of-{of}"),
                    };
                    let out = pass.join(&name);
                    let stripe = format!("{index}/{of}");
                    let list = lists[&name].to_str().unwrap();
                    let more = ["--repeats-list", list, "--stripe", &stripe];
                    scan(&[archive], &out, &[&options[..], &more].concat());
                    apart.push(out);
                }
            }
            let joined = pass.join("joined");
            let said = well(gather(&apart, &joined));
            assert!(said.contains("reconciles"), "{said}");
            let (expected, found) = (files(&whole), files(&joined));
            assert!(expected.keys().eq(found.keys()));
            for (name, bytes) in &expected {
                let what = format!("{repeats} {of} {shares}: {}", name.display());
                assert!(
                    name.as_path() == Path::new("manifest.json") || found[name] == *bytes,
                    "{what}"
                );
            }
            check(&joined);
        }
        // 50 and 50 of `a`, 20 of it again, and 20 that stand twice in `c`, 10 of them a third time.
        let marks = table(&whole, "sides");
        let marks = marks.column_by_name("is_repeat").unwrap().as_boolean();
        let (marked, left_out) = match repeats {
            "keep" => (2 * 150, 0),
            _ => (0, 150),
        };
        assert_eq!(marks.true_count(), marked);
        assert_eq!(table(&whole, "skipped").num_rows(), left_out);
    }
}

/// A pass over some archives knows nothing of others that are there.
#[test]
fn archives_of_another_pass_are_compared_with_those_that_are_there() {
    let folder = tempfile::tempdir().unwrap();
    let archives = archives(folder.path());
    let joined = folder.path().join("joined");
    let mut apart = Vec::new();
    for (number, archives) in [&archives[..2], &archives[2..]].into_iter().enumerate() {
        let pass = folder.path().join(format!("pass-{number}"));
        let lists = lists(archives, &pass, 1, 1);
        let mut added = Vec::new();
        for archive in archives {
            let name = archive.file_name().unwrap().to_str().unwrap();
            let list = lists[name].to_str().unwrap();
            added.push(pass.join("tables").join(name));
            let options = [&SMALL[..], &["--repeats-list", list]].concat();
            scan(&[archive], added.last().unwrap(), &options);
        }
        well(gather(&added, &joined));
        apart.extend(added);
        // All games of the third archive stand in the first two.
        let kept = [0, 80][number];
        assert_eq!(manifest(&joined)["repeats_kept"], kept);
    }
    // Together they are refused: neither pass has seen all of them.
    let together = folder.path().join("together");
    let refused = gather(&apart, &together);
    assert_refused(
        &refused,
        "is of another pass over the archives than that of",
    );
    assert!(!together.exists());
}

#[test]
fn lists_and_keys_that_do_not_fit_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let archives = archives(folder.path());
    let lists = lists(&archives, folder.path(), 1, 1);
    let refused = |arguments: &[&str], paths: &[&Path], words: &str| {
        assert_refused(&run(arguments, paths), words);
    };
    let [first, second, _] = &archives;
    let list = |name: &str| lists[name].to_str().unwrap();
    let out = folder.path().join("tables");
    // Of the second archive's repeats the first has fewer.
    let mut arguments = vec!["scan", "--repeats-list", list("c.pgn"), "--out"];
    refused(&arguments, &[&out, first], "another archive or stripe");
    arguments[2] = list("b.pgn");
    refused(&arguments, &[&out, first], "choose another folder");
    refused(&arguments, &[&out, first, second], "goes with one archive");
    let season = season();
    arguments[2] = season.to_str().unwrap();
    refused(&arguments, &[&out, first], "is not a list of repeats");
    // As older programs wrote it: without the line that names the pass.
    let text = fs::read_to_string(list("b.pgn")).unwrap();
    let (pass, rows) = text.split_once('\n').unwrap();
    assert!(pass.starts_with("# pass "), "{pass}");
    let old = file(folder.path(), "old.csv", rows);
    arguments[2] = old.to_str().unwrap();
    refused(&arguments, &[&out, first], "is a list of an older program");

    let keys = folder.path().join("keys");
    let (a, b) = (
        keys.join("a.pgn.keys.parquet"),
        keys.join("b.pgn.keys.parquet"),
    );
    let found = folder.path().join("found");
    let arguments = ["repeats", "--out"];
    refused(&arguments, &[&found, &season], "is not a file of keys");
    refused(&arguments, &[&found, &a, &b, &a], "is there already");
    let more = |stripe: &str| {
        let options = [&["keys", "--stripe", stripe], &SMALL[..], &["--out"]].concat();
        well(run(&options, &[&keys, first]));
        keys.join(format!(
            "b.pgn.{}.keys.parquet",
            stripe.replace('/', "-of-")
        ))
    };
    let (half, third) = (more("0/2"), more("1/3"));
    refused(
        &arguments,
        &[&found, &half, &third],
        "another number of stripes",
    );
    refused(
        &arguments,
        &[&found, &half, &a, &third],
        "beside the other stripes",
    );
}
