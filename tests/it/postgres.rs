//! A real PostgreSQL for tests: an ordinary cluster in a temporary folder, gone with the test.

use std::fs;
use std::net::TcpListener;
use std::os::unix::fs::{PermissionsExt as _, chown};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use rustix::process::{Pid, Signal, geteuid, kill_process_group};
use tokio::runtime::Runtime;
use tokio_postgres::{Client, NoTls, SimpleQueryMessage};

use crate::rig::in_time;

/// The role that owns the cluster. It needs no secret at the socket.
pub(crate) const OWNER: &str = "owner";
/// The database of the shop.
pub(crate) const DATABASE: &str = "shop";

/// A cluster, and the server that runs on it.
pub(crate) struct Postgres {
    pub(crate) dir: tempfile::TempDir,
    pub(crate) port: u16,
    server: Option<Child>,
    programs: PathBuf,
    /// What is put in front of the server.
    before: Vec<String>,
}

impl Postgres {
    /// A cluster with an empty database, running.
    pub(crate) fn started() -> Self {
        let mut server = Self::made();
        server.start();
        server.sql("postgres", &format!("CREATE DATABASE {DATABASE}"));
        server
    }

    /// The same with the tables of a shop and a role for each bench, whose secret is in `NAME.secret` in its folder.
    pub(crate) fn of_a_shop(benches: &[&str]) -> Self {
        let server = Self::started();
        server.becomes_a_shop(benches);
        server
    }

    pub(crate) fn becomes_a_shop(&self, benches: &[&str]) {
        self.admin(&["shop", "migrate"]);
        for bench in benches {
            let secret = self.path(&format!("{bench}.secret"));
            self.admin(&["shop", "bench", "add", bench, "--to", secret.to_str().unwrap()]);
        }
    }

    /// A cluster that does not run yet: local logins need no secret, those over the network do.
    pub(crate) fn made() -> Self {
        let dir = tempfile::tempdir().unwrap();
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let server = Self { dir, port, server: None, programs: programs(), before: Vec::new() };
        let at = server.dir.path();
        fs::set_permissions(at, fs::Permissions::from_mode(0o755)).unwrap();
        if geteuid().is_root() {
            chown(at, Some(uid()), None).unwrap();
        }
        let mut made = server.as_its_user("initdb");
        made.arg("-D").arg(server.path("data")).args(["-A", "trust", "-U", OWNER, "-N"]);
        made.args(["--encoding=UTF8", "--locale=C"]);
        let made = made.output().unwrap();
        assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
        server.write_hba(&format!("local all {OWNER} trust\nlocal all all trust\nhost all all 127.0.0.1/32 scram-sha-256\n"));
        server
    }

    /// Who may log in how.
    pub(crate) fn write_hba(&self, text: &str) {
        fs::write(self.path("data/pg_hba.conf"), text).unwrap();
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    /// One of PostgreSQL's programs as the user who may run it: it refuses root.
    pub(crate) fn as_its_user(&self, program: &str) -> Command {
        let program = self.programs.join(program);
        let mut command = match self.before.split_first() {
            None => Command::new("setpriv"),
            Some((first, more)) => {
                let mut command = Command::new(first);
                command.args(more).arg("setpriv");
                command
            }
        };
        // Whatever becomes of the test, its server ends with it.
        command.arg("--pdeathsig=KILL");
        if geteuid().is_root() {
            let user = uid().to_string();
            command
                .args([format!("--reuid={user}"), format!("--regid={user}")])
                .arg("--clear-groups");
        }
        command.arg(program).current_dir(self.dir.path()).stdin(Stdio::null());
        command
    }

    /// Starts the server and waits until it lets somebody in.
    pub(crate) fn start(&mut self) {
        self.start_with(&[]);
    }

    /// The same with settings of its own.
    pub(crate) fn start_with(&mut self, settings: &[&str]) {
        let log = fs::File::options().append(true).create(true).open(self.path("log")).unwrap();
        let mut command = self.as_its_user("postgres");
        command.arg("-D").arg(self.path("data")).arg("-k").arg(self.dir.path());
        command.args(["-p", &self.port.to_string(), "-c", "listen_addresses=127.0.0.1"]);
        for setting in
            ["fsync=off", "shared_buffers=32MB", "max_connections=40"].iter().chain(settings)
        {
            command.args(["-c", setting]);
        }
        // A group of its own: killed at the worst moment, all its processes go at once.
        std::os::unix::process::CommandExt::process_group(&mut command, 0);
        self.server = Some(command.stdout(log.try_clone().unwrap()).stderr(log).spawn().unwrap());
        assert!(in_time(|| self.try_sql("postgres", "SELECT 1").is_ok()), "{}", self.log());
    }

    /// Starts the server where a folder is a disk of this size. Only root can make one.
    pub(crate) fn start_on_a_small_disk(&mut self, folder: &Path, size: &str) {
        let mount = format!(
            "mount -t tmpfs -o size={size},mode=0700,uid={0},gid={0} none \"$0\" && exec \"$@\"",
            uid()
        );
        let shell = ["unshare", "-m", "sh", "-c", &mount, folder.to_str().unwrap()];
        self.before = shell.map(str::to_owned).to_vec();
        self.start();
    }

    /// A folder as the server sees it, which may have disks of its own.
    pub(crate) fn inside(&self, folder: &Path) -> PathBuf {
        let id = self.server.as_ref().unwrap().id();
        PathBuf::from(format!("/proc/{id}/root{}", folder.display()))
    }

    pub(crate) fn log(&self) -> String {
        fs::read_to_string(self.path("log")).unwrap_or_default()
    }

    pub(crate) fn signal(&self, signal: Signal) {
        let Some(server) = &self.server else { return };
        // A group that is gone already is what was wanted.
        let _gone = kill_process_group(Pid::from_child(server), signal);
    }

    /// SIGKILL to all its processes.
    pub(crate) fn kill(&mut self) {
        self.signal(Signal::KILL);
        if let Some(mut server) = self.server.take() {
            server.wait().unwrap();
        }
        std::thread::sleep(Duration::from_millis(50));
    }

    /// Ends it as an administrator would: sessions are cut, everything is on disk.
    pub(crate) fn stop(&mut self) {
        if let Some(mut server) = self.server.take() {
            rustix::process::kill_process(Pid::from_child(&server), Signal::INT).unwrap();
            server.wait().unwrap();
        }
    }

    /// A session at the socket.
    pub(crate) fn session(
        &self,
        user: &str,
        database: &str,
    ) -> Result<(Runtime, Client), tokio_postgres::Error> {
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
        let mut config = tokio_postgres::Config::new();
        config.host_path(self.dir.path()).port(self.port).user(user).dbname(database);
        let (client, connection) = runtime.block_on(config.connect(NoTls))?;
        runtime.spawn(async { drop(connection.await) });
        Ok((runtime, client))
    }

    pub(crate) fn try_sql_as(
        &self,
        user: &str,
        database: &str,
        sql: &str,
    ) -> Result<Vec<Vec<String>>, tokio_postgres::Error> {
        let (runtime, client) = self.session(user, database)?;
        let messages = runtime.block_on(async {
            client.batch_execute("SET search_path TO tenths").await?;
            client.simple_query(sql).await
        })?;
        let rows = messages.iter().filter_map(|message| match message {
            SimpleQueryMessage::Row(row) => Some(row),
            SimpleQueryMessage::CommandComplete(_) | SimpleQueryMessage::RowDescription(_) | _ => {
                None
            }
        });
        let text = |row: &tokio_postgres::SimpleQueryRow, at| row.get(at).unwrap_or("-").to_owned();
        Ok(rows.map(|row| (0..row.len()).map(|at| text(row, at)).collect()).collect())
    }

    pub(crate) fn try_sql(
        &self,
        database: &str,
        sql: &str,
    ) -> Result<Vec<Vec<String>>, tokio_postgres::Error> {
        self.try_sql_as(OWNER, database, sql)
    }

    /// The rows of a query as texts, asked by the owner.
    #[track_caller]
    pub(crate) fn sql(&self, database: &str, sql: &str) -> Vec<Vec<String>> {
        self.try_sql(database, sql).unwrap_or_else(|error| panic!("{sql}: {error:?}"))
    }

    /// The only value of a query in the shop's database.
    #[track_caller]
    pub(crate) fn value(&self, sql: &str) -> String {
        self.sql(DATABASE, sql)[0][0].clone()
    }

    /// `[shop.database]` for a bench that comes over the loopback with its secret.
    pub(crate) fn table(&self, bench: &str) -> String {
        format!(
            "[shop]\nbench = \"{bench}\"\n[shop.database]\nhost = \"127.0.0.1\"\nport = {}\n\
             database = \"{DATABASE}\"\nsecret = \"{}\"\n",
            self.port,
            self.path(&format!("{bench}.secret")).display()
        )
    }

    /// Runs a command of `tenths` as the owner of the database; its standard output.
    #[track_caller]
    pub(crate) fn admin(&self, arguments: &[&str]) -> String {
        let (code, out, err) = self.as_owner(arguments);
        assert_eq!(code, Some(0), "{arguments:?}: {err}");
        out
    }

    /// The same, however it ends: exit code, standard output and standard error.
    pub(crate) fn as_owner(&self, arguments: &[&str]) -> (Option<i32>, String, String) {
        let file = self.path("owner.toml");
        let text = format!(
            "[shop]\nbench = \"x\"\n[shop.database]\nhost = \"{}\"\nport = {}\ndatabase = \"{DATABASE}\"\n",
            self.dir.path().display(),
            self.port
        );
        fs::write(&file, text).unwrap();
        let mut command = Command::new(env!("CARGO_BIN_EXE_tenths"));
        command.arg("--config").arg(&file).args(arguments).args(["--as", OWNER]);
        let output = command.current_dir(self.dir.path()).env("NO_COLOR", "1").output().unwrap();
        let text = |bytes| String::from_utf8(bytes).unwrap();
        (output.status.code(), text(output.stdout), text(output.stderr))
    }
}

impl Drop for Postgres {
    fn drop(&mut self) {
        self.kill();
    }
}

/// The newest PostgreSQL of this machine.
fn programs() -> PathBuf {
    let on_path = std::env::var_os("PATH").unwrap_or_default();
    let on_path = std::env::split_paths(&on_path).find(|folder| folder.join("initdb").exists());
    if let Some(folder) = on_path {
        return folder;
    }
    let versions = fs::read_dir("/usr/lib/postgresql").into_iter().flatten().flatten();
    let folders = versions.map(|version| version.path().join("bin"));
    let mut folders: Vec<PathBuf> =
        folders.filter(|folder| folder.join("initdb").exists()).collect();
    folders.sort_by_key(|folder| version(folder));
    folders.pop().expect("PostgreSQL is installed: apt-get install postgresql")
}

fn version(folder: &Path) -> u32 {
    let name = folder.parent().and_then(Path::file_name);
    name.and_then(|name| name.to_str()?.parse().ok()).unwrap_or(0)
}

/// The user who runs it in root's place: its own where there is one, else one who may do nothing.
fn uid() -> u32 {
    let users = fs::read_to_string("/etc/passwd").unwrap();
    let own = users.lines().find_map(|line| line.strip_prefix("postgres:"));
    own.and_then(|line| line.split(':').nth(1)?.parse().ok()).unwrap_or(65534)
}
