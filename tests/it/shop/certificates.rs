//! TLS: the server's certificate must be of the name that is written, signed by whom the bench trusts, and in its time.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use super::{Forward, arrives, bench_of, measured, until_trouble};
use crate::postgres::{DATABASE, Postgres};
use crate::rig::Bench;

/// Runs openssl in a folder.
fn openssl(folder: &Path, arguments: &str) {
    let said =
        Command::new("openssl").args(arguments.split_whitespace()).current_dir(folder).output();
    let said = said.expect("there is openssl");
    assert!(said.status.success(), "{arguments}: {}", String::from_utf8_lossy(&said.stderr));
}

/// Somebody who signs certificates.
fn authority(folder: &Path, name: &str) -> PathBuf {
    openssl(
        folder,
        &format!(
            "req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 30 -subj /CN={name} \
         -addext basicConstraints=critical,CA:TRUE -addext keyUsage=critical,keyCertSign -keyout {name}.key -out {name}.pem"
        ),
    );
    folder.join(format!("{name}.pem"))
}

/// A certificate for some names; the server takes it with its next start.
fn certificate(server: &Postgres, (folder, by): (&Path, &str), names: &str, days: &str) {
    fs::write(
        folder.join("names"),
        format!("subjectAltName={names}\nextendedKeyUsage=serverAuth\n"),
    )
    .unwrap();
    openssl(
        folder,
        "req -new -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -subj /CN=server -keyout server.key -out server.csr",
    );
    openssl(
        folder,
        &format!(
            "x509 -req -in server.csr -CA {by}.pem -CAkey {by}.key -CAcreateserial {days} -extfile names -out server.crt"
        ),
    );
    for file in ["server.key", "server.crt"] {
        // Kept as it is there: it belongs to the server's user and nobody else reads it.
        let to = server.path("data").join(file);
        fs::write(&to, fs::read(folder.join(file)).unwrap()).unwrap();
        fs::set_permissions(&to, std::os::unix::fs::PermissionsExt::from_mode(0o600)).unwrap();
        let owner = std::os::unix::fs::MetadataExt::uid(&server.path("data").metadata().unwrap());
        std::os::unix::fs::chown(&to, Some(owner), None).unwrap();
    }
}

/// Makes the bench reach the server by TLS, as a host.
fn by_tls(bench: &Bench, server: &Postgres, host: &str, ca: &Path) {
    let file = bench.path("bench.toml");
    let text = fs::read_to_string(&file).unwrap();
    let (before, _) = text.split_once("[shop]").unwrap();
    let table = server
        .table("north")
        .replace("host = \"127.0.0.1\"", &format!("host = \"{host}\"\nca = \"{}\"", ca.display()));
    fs::write(&file, format!("{before}{table}")).unwrap();
}

#[test]
fn only_the_certificate_of_the_name_by_who_is_trusted_is_taken() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let (ours, others) = (authority(at, "ours"), authority(at, "others"));
    let mut server = Postgres::of_a_shop(&["north"]);
    let bench = bench_of(&server, "north");
    measured(&bench, "J-1", 2);
    // A server that has no TLS at all.
    by_tls(&bench, &server, "localhost", &ours);
    {
        let _forward = Forward::of(&bench);
        until_trouble(&bench, "does not speak TLS");
    }
    server.stop();
    server.write_hba(
        "local all owner trust\nlocal all all trust\nhostssl all all 127.0.0.1/32 scram-sha-256\n",
    );
    certificate(&server, (at, "ours"), "DNS:localhost,IP:127.0.0.1", "-days 30");
    server.start_with(&["ssl=on"]);
    for (host, ca, refused) in [
        ("localhost", &others, Some("nobody in `ca` has signed it")),
        ("127.0.0.2", &ours, Some("127.0.0.2:")),
        ("localhost", &ours, None),
        ("127.0.0.1", &ours, None),
    ] {
        by_tls(&bench, &server, host, ca);
        let _forward = Forward::of(&bench);
        match refused {
            Some(why) => drop(until_trouble(&bench, why)),
            None => arrives(&server, &bench, "north"),
        }
    }
    let version = "SELECT count(*) FROM pg_stat_ssl JOIN pg_stat_activity USING (pid) WHERE ssl AND usename = 'north'";
    let before = server.value("SELECT count(*) FROM fact");
    // Not of this name; and one whose time is over.
    for (names, days, why) in [
        ("DNS:db.example", "-days 30", "it is not one of localhost"),
        ("DNS:localhost", "-days -1", "its time is over"),
    ] {
        server.stop();
        certificate(&server, (at, "ours"), names, days);
        server.start_with(&["ssl=on"]);
        by_tls(&bench, &server, "localhost", &ours);
        measured(&bench, &format!("J-{}", names.len()), 1);
        let _forward = Forward::of(&bench);
        let trouble = until_trouble(
            &bench,
            &format!("the certificate of localhost:{} is refused: {why}", server.port),
        );
        assert!(trouble["hint"].as_str().unwrap().contains("nothing was sent"), "{trouble}");
        assert_eq!(server.value(version), "0");
    }
    assert_eq!(server.sql(DATABASE, "SELECT count(*) FROM fact")[0][0], before);
    // A file that holds no certificate.
    fs::write(at.join("empty.pem"), "nothing\n").unwrap();
    by_tls(&bench, &server, "localhost", &at.join("empty.pem"));
    let _forward = Forward::of(&bench);
    until_trouble(&bench, "there is no certificate in");
}
