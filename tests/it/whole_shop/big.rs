use std::time::Instant;
use crate::postgres::{DATABASE, Postgres};
#[test]
fn big() {
    let server = Postgres::of_a_shop(&["north"]);
    let mut bench = super::north(&server);
    bench.stop();
    super::sent(&server, "north", &bench.state);
    let cols = |t: &str| server.sql(DATABASE, &format!("SELECT string_agg(column_name, ',' ORDER BY ordinal_position) FROM information_schema.columns WHERE table_schema='tenths' AND table_name='{t}' AND column_name<>'bench'"))[0][0].clone();
    for t in ["bench","fact","reading","lost","seal","pinned","form","caller","import","import_run","paper","sought"] {
        let c = cols(t);
        let sel = c.split(',').map(|c| if c=="wall" {"wall - n*86400000000".to_owned()} else if c=="word" {"word || CASE WHEN what='serial' THEN '-'||n ELSE '' END".to_owned()} else {c.to_owned()}).collect::<Vec<_>>().join(",");
        server.sql(DATABASE, &format!("INSERT INTO {t} (bench,{c}) SELECT 'b'||n, {sel} FROM {t}, generate_series(1,3000) n WHERE bench='north'"));
    }
    server.sql(DATABASE, "ANALYZE");
    println!("rows {} {}", server.value("SELECT count(*) FROM fact"), server.value("SELECT count(*) FROM reading"));
    for q in ["readings --last 50","readings --first 50","alerts --last 50","alerts --state open --last 50","verdicts --last 50","job list --last 50","job list --serial 77","readings wh-1 --bench b77","readings --bench b77","readings --gauge height --last 50", "readings --state void --last 50", "readings --since 2d", "job list --state open --last 50"] {
        for _ in 0..2 {
        let t = Instant::now();
        let out = super::told(&super::run(&bench, q, &["--shop","--json"]));
        println!("{q}: {:?} lines {} exit {:?} {}", t.elapsed(), out.1.lines().count(), out.0, out.2.lines().next().unwrap_or(""));
        }
    }
}
