//! What goes along with the program: licences, notices, and the files of the package.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn read(path: impl AsRef<Path>) -> String {
    let path = root().join(path);
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn manifest(path: impl AsRef<Path>) -> toml::Table {
    read(path).parse().unwrap()
}

#[test]
fn every_package_names_the_licence_and_nobody() {
    let whole = manifest("Cargo.toml");
    assert_eq!(whole["workspace"]["package"]["license"].as_str(), Some("MIT OR Apache-2.0"));
    let rooms = fs::read_dir(root().join("src")).unwrap().map(|room| room.unwrap().path());
    let manifests = rooms.map(|room| room.join("Cargo.toml")).filter(|path| path.is_file());
    for path in manifests.chain([root().join("Cargo.toml")]) {
        let package = manifest(&path)["package"].as_table().unwrap().clone();
        let inherited = package["license"].get("workspace").and_then(toml::Value::as_bool);
        assert_eq!(inherited, Some(true), "{}", path.display());
        for key in ["repository", "homepage", "authors"] {
            assert!(!package.contains_key(key), "{} has {key}", path.display());
        }
    }
    assert!(read("LICENSE-MIT").starts_with("MIT License"));
    assert!(read("LICENSE-APACHE").contains("Version 2.0, January 2004"));
}

/// Every library of somebody else that the program is linked with, as the builder knows them: name and version.
fn linked() -> BTreeSet<String> {
    let mut cargo = Command::new(env!("CARGO"));
    cargo.args(["tree", "--locked", "--offline", "--package", "tenths", "--edges", "normal"]);
    cargo.args(["--target", "x86_64-unknown-linux-gnu", "--prefix", "none", "--format", "{p}"]);
    let output = cargo.current_dir(root()).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    let lines = text.lines().filter(|line| !line.contains("(/"));
    lines
        .filter_map(|line| line.split_once(" v"))
        .map(|(name, rest)| format!("{name} {}", rest.split(' ').next().unwrap()))
        .collect()
}

#[test]
fn the_notices_name_everything_that_is_linked_in() {
    let notices = read("NOTICES");
    let named: BTreeSet<&str> = notices.lines().map(str::trim).collect();
    let linked = linked();
    assert!(linked.len() > 100, "{linked:?}");
    let left: Vec<&String> = linked.iter().filter(|one| !named.contains(one.as_str())).collect();
    assert!(
        left.is_empty(),
        "run .ci/notices, which writes NOTICES anew: it does not name {left:?}"
    );
}

#[test]
fn everything_under_etc_is_left_as_people_wrote_it() {
    let package = manifest("Cargo.toml")["package"]["metadata"]["deb"].clone();
    let texts = |value: &toml::Value| -> Vec<String> {
        value.as_array().unwrap().iter().map(|one| one.as_str().unwrap().to_owned()).collect()
    };
    let kept: BTreeSet<String> = texts(&package["conf-files"]).into_iter().collect();
    let mut wanted = BTreeSet::from(["/etc/tenths/bench.toml".to_owned()]);
    for profile in fs::read_dir(root().join("config/profiles")).unwrap() {
        let name = profile.unwrap().file_name().into_string().unwrap();
        wanted.insert(format!("/etc/tenths/profiles/{name}"));
    }
    assert_eq!(kept, wanted, "conf-files in Cargo.toml");
    for asset in package["assets"].as_array().unwrap() {
        let from = texts(asset)[0].clone();
        let made = from.starts_with("target/") || from.contains('*');
        assert!(made || root().join(&from).is_file(), "{from} is packed and not there");
    }
}

/// The configuration that a machine begins with holds nothing that is not true of it.
#[test]
fn the_first_configuration_of_a_machine_has_nothing_invented() {
    let first = read("package/bench.toml");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bench.toml");
    fs::write(&path, &first).unwrap();
    let table: toml::Table = first.parse().unwrap();
    assert_eq!(table.keys().collect::<Vec<_>>(), ["bench"]);
    assert_eq!(table["bench"].as_table().unwrap().keys().collect::<Vec<_>>(), ["unit"]);
    let check = |path: &Path| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tenths"));
        let output = command.arg("config").arg("check").arg("--config").arg(path).output().unwrap();
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        (output.status.code(), said + &String::from_utf8_lossy(&output.stderr))
    };
    let (code, said) = check(&path);
    assert!(code == Some(0) && said.contains("there is no [[gauge]]"), "{said}");
    // The lines that wait for somebody to take their signs off are right as they stand.
    let from = first.find("# [[gauge]]").unwrap();
    let opened: String =
        first[from..].lines().map(|line| line.trim_start_matches("# ").to_owned() + "\n").collect();
    fs::write(&path, format!("{}{opened}", &first[..from])).unwrap();
    let (code, said) = check(&path);
    assert!(code == Some(0) && !said.contains("warning"), "{said}");
}
