//! `tenths shop`: tables are made once, by steps; a bench may add and read, whoever looks may read.

use crate::postgres::{DATABASE, Postgres};

const A_FACT: &str =
    "INSERT INTO fact (seq, wall, mono, kind, body) VALUES (1, 2, 3, 'started', '{}')";

#[test]
fn the_tables_are_made_by_steps_once() {
    let server = Postgres::started();
    let told = server.admin(&["shop", "migrate"]);
    assert!(told.contains("is the record of a shop now (step 1)"), "{told}");
    let told = server.admin(&["shop", "migrate"]);
    assert!(told.contains("has taken every step already (step 1)"), "{told}");
    // A newer program was here.
    server.sql(DATABASE, "INSERT INTO step (number) VALUES (2)");
    for arguments in [&["shop", "migrate"][..], &["shop", "bench", "add", "north", "--no-secret"]] {
        let (code, _, err) = server.as_owner(arguments);
        assert_eq!(code, Some(2), "{err}");
        assert!(err.contains("is of step 2; this program knows 1 and no later one"), "{err}");
        assert!(err.contains("install the newer version"), "{err}");
    }
}

#[test]
fn a_database_without_tables_and_one_with_other_texts_are_told_as_such() {
    let server = Postgres::started();
    let (code, _, err) = server.as_owner(&["shop", "bench", "add", "north", "--no-secret"]);
    assert_eq!(code, Some(2), "{err}");
    assert!(
        err.contains("holds no record of a shop") && err.contains("tenths shop migrate"),
        "{err}"
    );
    server.sql("postgres", &format!("DROP DATABASE {DATABASE}"));
    let (code, _, err) = server.as_owner(&["shop", "migrate"]);
    assert_eq!(code, Some(2), "{err}");
    assert!(err.contains(&format!("has no database {DATABASE}")), "{err}");
    server.sql(
        "postgres",
        &format!("CREATE DATABASE {DATABASE} TEMPLATE template0 ENCODING 'SQL_ASCII'"),
    );
    let (code, _, err) = server.as_owner(&["shop", "migrate"]);
    assert_eq!(code, Some(2), "{err}");
    assert!(err.contains("are SQL_ASCII, not UTF8"), "{err}");
}

#[test]
fn a_bench_adds_under_its_own_name_and_can_neither_change_nor_delete() {
    let server = Postgres::of_a_shop(&["north", "south"]);
    let as_north = |sql: &str| server.try_sql_as("north", DATABASE, sql);
    as_north(A_FACT).unwrap();
    assert_eq!(as_north("SELECT bench, seq FROM fact").unwrap(), [["north", "1"]]);
    // Another session of the same name is that bench; another bench has numbers of its own.
    server.try_sql_as("south", DATABASE, A_FACT).unwrap();
    assert!(as_north(A_FACT).is_err());
    // As one of the roles that carry the rights it is still itself.
    as_north("SET ROLE tenths_bench; INSERT INTO fact (seq, wall, mono, kind, body) VALUES (2, 2, 3, 'x', '')").unwrap();
    assert_eq!(server.value("SELECT count(*) FROM fact WHERE bench = 'north'"), "2");
    let tables = server.sql(DATABASE, "SELECT relname FROM pg_class WHERE relnamespace = 'tenths'::regnamespace AND relkind IN ('r', 'p')");
    assert!(tables.len() > 60, "{}", tables.len());
    let column = "SELECT attname FROM pg_attribute WHERE attnum = 1 AND attrelid = 'tenths.";
    for table in tables.iter().map(|row| &row[0]) {
        let first = server.value(&format!("{column}{table}'::regclass"));
        for forbidden in [
            format!("UPDATE {table} SET {first} = {first}"),
            format!("DELETE FROM {table}"),
            format!("TRUNCATE {table}"),
            format!("DROP TABLE {table}"),
            format!("ALTER TABLE {table} ADD COLUMN mine text"),
            format!("SELECT * FROM {table} FOR UPDATE"),
            format!("INSERT INTO {table} (bench) VALUES ('south')"),
        ] {
            let refused = as_north(&forbidden).unwrap_err();
            let code = refused.code().map_or("", |code| code.code()).to_owned();
            let no_such_column = ["step"].contains(&table.as_str()) && code == "42703";
            assert!(code == "42501" || no_such_column, "{forbidden}: {refused:?}");
        }
        as_north(&format!("SELECT * FROM {table} LIMIT 1")).unwrap();
    }
    for forbidden in [
        "CREATE TABLE mine (n integer)",
        "CREATE TEMP TABLE mine (n integer)",
        "CREATE ROLE other",
        "SET SESSION AUTHORIZATION south",
        "SET ROLE south",
        "ALTER ROLE north SUPERUSER",
    ] {
        assert!(as_north(forbidden).is_err(), "{forbidden}");
    }
    let (code, _, err) =
        server.as_owner(&["shop", "bench", "add", "north", "--to", "again.secret"]);
    assert_eq!(code, Some(2));
    assert!(
        err.contains("has a role north already") && err.contains("two benches never share a name"),
        "{err}"
    );
    assert!(!server.path("again.secret").exists(), "a secret that nobody has was kept");
}

#[test]
fn whoever_looks_reads_everything_and_adds_nothing() {
    let server = Postgres::of_a_shop(&["north"]);
    server.try_sql_as("north", DATABASE, A_FACT).unwrap();
    server.admin(&["shop", "reader", "add", "office", "--no-secret"]);
    let as_office = |sql: &str| server.try_sql_as("office", DATABASE, sql);
    assert_eq!(as_office("SELECT bench FROM fact").unwrap(), [["north"]]);
    for forbidden in [
        "INSERT INTO fact (seq, wall, mono, kind, body) VALUES (9, 2, 3, 'x', '')",
        "DELETE FROM fact",
        "INSERT INTO bench DEFAULT VALUES",
    ] {
        let refused = as_office(forbidden).unwrap_err();
        assert_eq!(refused.code().unwrap().code(), "42501", "{forbidden}");
    }
    // A login of the same server that belongs to something else does not even come in.
    server.sql("postgres", "CREATE ROLE stranger LOGIN");
    assert_eq!(
        server.try_sql_as("stranger", DATABASE, "SELECT 1").unwrap_err().code().unwrap().code(),
        "42501"
    );
}

#[test]
fn a_secret_is_in_a_file_of_its_owner_alone_and_in_no_log() {
    let mut server = Postgres::made();
    server.start_with(&["log_statement=all"]);
    server.sql("postgres", &format!("CREATE DATABASE {DATABASE}"));
    server.becomes_a_shop(&["north"]);
    let file = server.path("north.secret");
    let mode = std::os::unix::fs::PermissionsExt::mode(&file.metadata().unwrap().permissions());
    assert_eq!(mode & 0o777, 0o600);
    let secret = std::fs::read_to_string(&file).unwrap();
    assert_eq!(secret.trim().len(), 48);
    let log = server.log();
    assert!(log.contains("CREATE ROLE \"north\"") && !log.contains(secret.trim()));
    // A file that is there is not written over, and then no role is made.
    let to = file.to_str().unwrap();
    let (code, _, err) = server.as_owner(&["shop", "bench", "add", "south", "--to", to]);
    assert_eq!(code, Some(2), "{err}");
    assert!(err.contains("the secret cannot be kept in"), "{err}");
    assert_eq!(server.value("SELECT count(*) FROM pg_roles WHERE rolname = 'south'"), "0");
    let (code, _, err) = server.as_owner(&["shop", "bench", "add", "South"]);
    assert_eq!(code, Some(2), "{err}");
    assert!(err.contains("is no name for this"), "{err}");
}
