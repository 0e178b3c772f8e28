//! What `out/three-levels` shows is what the first example gives.

use crate::runs::run;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// Endings of files that are neither text to read nor small: not in the showcase.
const LEFT_OUT: [&str; 4] = ["stl", "3mf", "step", "pdf"];

fn shown(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| {
            let ending = path.extension().unwrap_or_default();
            !LEFT_OUT.iter().any(|left| ending == *left)
                && path.file_name().unwrap() != "report.html"
        })
        .map(|path| {
            let name = path.file_name().unwrap().to_str().unwrap().to_owned();
            (name, fs::read(path).unwrap())
        })
        .collect()
}

#[test]
fn the_showcase_is_what_the_first_example_gives() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let kept = root.join("out/three-levels");
    let home = tempfile::tempdir().unwrap();
    // Under its own name and in a folder like the real one: a part file is named in messages.
    fs::create_dir(home.path().join("examples")).unwrap();
    fs::copy(
        root.join("examples/three-levels.toml"),
        home.path().join("examples/three-levels.toml"),
    )
    .unwrap();
    let ran = run(home.path(), &["make", "examples/three-levels.toml"]);
    assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    let made = shown(&home.path().join("out/three-levels"));
    assert!(made.len() > 12);
    if std::env::var_os("COLDSTEP_SHOWCASE").is_some_and(|word| word == "write") {
        fs::create_dir_all(&kept).unwrap();
        for name in shown(&kept).keys().filter(|name| !made.contains_key(*name)) {
            fs::remove_file(kept.join(name)).unwrap();
        }
        for (name, bytes) in &made {
            fs::write(kept.join(name), bytes).unwrap();
        }
        return;
    }
    let there = shown(&kept);
    let names = |files: &BTreeMap<String, Vec<u8>>| files.keys().cloned().collect::<Vec<_>>();
    let way_out = "COLDSTEP_SHOWCASE=write cargo test --test program showcase writes it again";
    assert_eq!(names(&there), names(&made), "{way_out}");
    for (name, bytes) in &made {
        assert!(
            there[name] == *bytes,
            "out/three-levels/{name} differs: {way_out}"
        );
    }
}
