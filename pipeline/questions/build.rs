//! Lists the sorts of question: the dependencies of this crate that are named `sort-NAME`, in their
//! order. Each calls the type of its question files `Question`.

use std::path::Path;
use std::{env, fs};

use toml::Table;

fn main() {
    println!("cargo:rerun-if-changed=Cargo.toml");
    let manifest: Table = fs::read_to_string("Cargo.toml")
        .expect("the manifest of this crate")
        .parse()
        .expect("a manifest is TOML");
    let dependencies = manifest["dependencies"].as_table().expect("a table");
    let names = dependencies.keys().filter(|name| name.starts_with("sort-"));
    let lines: String = names
        .map(|name| format!("Sorted::of::<{}::Question>(),\n", name.replace('-', "_")))
        .collect();
    let folder = env::var("OUT_DIR").expect("Cargo gives a folder");
    fs::write(
        Path::new(&folder).join("sorts.rs"),
        format!("&[\n{lines}]\n"),
    )
    .expect("the folder can be written to");
}
