//! A real PostgreSQL in a folder of its own, lanes on disk, and a proxy that spoils the network between them.

use std::fs;
use std::io::{Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicU8, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use linewalk::lanes::server::Place;
use linewalk::logbook::storage::Storage;
use linewalk::logbook::verify::verify;
use linewalk::logbook::writer::LogWriter;
use linewalk::model::entry::{Entry, Finding, Outcome, Severity};
use linewalk::shell::clock;
use linewalk::shell::disk::DiskStorage;
use linewalk::shell::joined::Joined;
use linewalk::shell::lane::LaneThread;
use linewalk::shell::paths::Paths;
use linewalk::shell::workspace::Replicator;
use tempfile::TempDir;

use crate::logbook::finding;

/// Names the folder of PostgreSQL's programs; without it these tests are left out, and say so.
pub const PROGRAMS: &str = "LINEWALK_EVENT_POSTGRES";

/// The folder of PostgreSQL's programs, or a word on standard output that the test was left out.
pub fn programs(test: &str) -> Option<PathBuf> {
    let found = std::env::var_os(PROGRAMS).map(PathBuf::from);
    if found.is_none() {
        println!("LEFT OUT: {test} needs a PostgreSQL, see {PROGRAMS} in DEVELOPERS.md");
    }
    found
}

/// A server.
pub struct Pg {
    programs: PathBuf,
    folder: TempDir,
    pub port: u16,
    running: Option<Child>,
    extra: Vec<String>,
}

/// The server refuses to run as root: everything of it belongs to nobody then.
fn as_nobody(command: &mut Command) -> &mut Command {
    let root = fs::metadata("/proc/self").is_ok_and(|about| {
        use std::os::unix::fs::MetadataExt;
        about.uid() == 0
    });
    if root { command.uid(65534).gid(65534) } else { command }
}

fn owned_by_nobody(path: &Path) {
    // Not root: it is ours already.
    let _ = std::os::unix::fs::chown(path, Some(65534), Some(65534));
}

fn well(output: &Output, doing: &str) {
    assert!(output.status.success(), "{doing}: {}", String::from_utf8_lossy(&output.stderr));
}

impl Pg {
    /// Makes a server's folder, starts it, makes the event and a login for each lane and for race control.
    pub fn start(programs: PathBuf, durable: bool) -> Self {
        let pg = Self::bare(programs, durable, "trust");
        well(&pg.create_event("postgresql://postgres@127.0.0.1"), "event create");
        for at in 1..=6 {
            pg.sql("postgres", &format!("create role lane{at} login in role linewalk_lane"));
        }
        pg.sql("postgres", "create role control login in role linewalk_control");
        pg
    }

    /// A server without an event.
    pub fn bare(programs: PathBuf, durable: bool, auth: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        owned_by_nobody(folder.path());
        let secret = folder.path().join("first-password");
        fs::write(&secret, "first").unwrap();
        owned_by_nobody(&secret);
        let mut make = Command::new(programs.join("initdb"));
        make.args(["-U", "postgres", "-E", "UTF8", "--locale=C", "--no-sync", "-A", auth, "--pwfile"]);
        make.arg(&secret).arg("-D").arg(folder.path().join("data")).current_dir(folder.path());
        well(&as_nobody(&mut make).output().unwrap(), "initdb");
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let extra = if durable { Vec::new() } else { vec!["-cfsync=off".to_owned()] };
        let mut pg = Self { programs, folder, port, running: None, extra };
        pg.begin();
        pg
    }

    pub fn path(&self) -> &Path {
        self.folder.path()
    }

    /// More settings, from the next start on.
    pub fn set(&mut self, setting: &str) {
        self.extra.push(format!("-c{setting}"));
    }

    pub fn begin(&mut self) {
        let until = Instant::now() + Duration::from_secs(60);
        loop {
            let log = fs::OpenOptions::new().create(true).append(true).open(self.path().join("log")).unwrap();
            let mut server = Command::new(self.programs.join("postgres"));
            server.arg("-D").arg(self.path().join("data")).args(["-h", "127.0.0.1", "-p"]);
            server.arg(self.port.to_string()).arg("-k").arg(self.path()).args(&self.extra);
            server.current_dir(self.path()).process_group(0).stdout(Stdio::null()).stderr(log);
            self.running = Some(as_nobody(&mut server).spawn().unwrap());
            while self.running.as_mut().unwrap().try_wait().unwrap().is_none() {
                if self.try_sql("postgres", "select 1").status.success() {
                    return;
                }
                assert!(Instant::now() < until, "the server does not start");
                thread::sleep(Duration::from_millis(50));
            }
            // Children of one that was killed may still be leaving.
            assert!(Instant::now() < until, "the server ends at once");
            thread::sleep(Duration::from_millis(100));
        }
    }

    /// Kills the server and all its children at once.
    pub fn kill(&mut self) {
        if let Some(mut server) = self.running.take() {
            let _ = Command::new("kill").args(["-9", "--", &format!("-{}", server.id())]).output();
            let _ = server.wait();
        }
    }

    pub fn try_sql(&self, login: &str, sql: &str) -> Output {
        let mut psql = Command::new(self.programs.join("psql"));
        psql.args(["-X", "-q", "-A", "-t", "-v", "ON_ERROR_STOP=1", "-d", "postgres", "-h", "127.0.0.1"]);
        psql.args(["-U", login, "-p", &self.port.to_string(), "-c", sql]);
        psql.env("PGPASSWORD", "first").env("PGCONNECT_TIMEOUT", "5").output().unwrap()
    }

    pub fn sql(&self, login: &str, sql: &str) -> String {
        let output = self.try_sql(login, sql);
        well(&output, sql);
        String::from_utf8(output.stdout).unwrap().trim().to_owned()
    }

    pub fn create_event(&self, server: &str) -> Output {
        let url = format!("{server}:{}/postgres", self.port);
        linewalk(self.path()).args(["event", "create", &url]).env("PGPASSWORD", "first").output().unwrap()
    }

    pub fn url(&self, login: &str) -> String {
        format!("postgresql://{login}@127.0.0.1:{}/postgres", self.port)
    }

    /// Every log on the server, line by line.
    pub fn logs(&self) -> Logs {
        let text = self.sql(
            "postgres",
            "select writer, car, encode(line, 'hex') from linewalk.record order by writer, car, seq",
        );
        let mut logs = Logs::new();
        for row in text.lines() {
            let mut cells = row.split('|');
            let (writer, car) = (cells.next().unwrap().to_owned(), cells.next().unwrap().to_owned());
            let hex = cells.next().unwrap().as_bytes();
            let byte = |pair: &[u8]| u8::from_str_radix(std::str::from_utf8(pair).unwrap(), 16).unwrap();
            logs.entry(Place { writer, car }).or_default().push(hex.chunks(2).map(byte).collect());
        }
        logs
    }
}

impl Drop for Pg {
    fn drop(&mut self) {
        self.kill();
    }
}

/// Logs, line by line.
pub type Logs = std::collections::BTreeMap<Place, Vec<Vec<u8>>>;

/// The program with a home of its own.
pub fn linewalk(home: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_linewalk"));
    command.env_clear().env("PATH", std::env::var_os("PATH").unwrap_or_default());
    command
        .env("HOME", home)
        .env("XDG_CONFIG_HOME", home.join("config"))
        .env("XDG_DATA_HOME", home.join("data"));
    command
}

/// A lane's machine.
pub struct Machine {
    pub home: TempDir,
    pub paths: Paths,
    pub writer: String,
}

impl Machine {
    pub fn new() -> Self {
        let home = tempfile::tempdir().unwrap();
        let paths =
            Paths { data: home.path().join("data/linewalk"), config: home.path().join("config/linewalk") };
        let writer = paths.writer_id().unwrap();
        Self { home, paths, writer }
    }

    pub fn join(&self, url: &str) -> LaneThread {
        LaneThread::start(self.paths.clone(), Joined { url: url.to_owned(), plain: false })
    }

    pub fn log(&self, car: &str) -> LogWriter<DiskStorage> {
        LogWriter::open(DiskStorage::create(self.paths.car(car)).unwrap(), &self.writer).unwrap()
    }

    /// Every log here; each must hold.
    pub fn logs(&self) -> Logs {
        let mut logs = Logs::new();
        for car in self.paths.cars().unwrap() {
            let folder = DiskStorage::at(self.paths.car(&car));
            let verdict = verify(&folder).unwrap();
            assert!(verdict.holds(), "{car}: {}", verdict.text());
            for name in folder.list().unwrap() {
                if let Some(writer) = name.strip_suffix(".jsonl") {
                    let bytes = folder.read(&name).unwrap().unwrap();
                    let lines = bytes.split(|byte| *byte == b'\n').filter(|line| !line.is_empty());
                    let place = Place { writer: writer.to_owned(), car: car.clone() };
                    logs.insert(place, lines.map(<[u8]>::to_vec).collect());
                }
            }
        }
        logs
    }
}

/// How many records stand in some logs.
pub fn records(logs: &Logs) -> usize {
    logs.values().map(Vec::len).sum()
}

/// Waits until something is so.
pub fn until(what: &str, limit: Duration, mut so: impl FnMut() -> bool) {
    let end = Instant::now() + limit;
    while !so() {
        assert!(Instant::now() < end, "in {limit:?} it never came to this: {what}");
        thread::sleep(Duration::from_millis(20));
    }
}

/// Long enough for anything that is not a whole run.
pub const SOON: Duration = Duration::from_secs(60);

/// An answer as a walk keeps it, of the usual length.
pub fn answer(check: usize) -> Entry {
    let Entry::Finding(plain) = finding(0.0127, "touches the axle tube at droop") else {
        panic!("no finding")
    };
    let result = if check % 20 == 3 { Outcome::Reject } else { Outcome::Accept };
    Entry::Finding(Box::new(Finding {
        check: format!("check-{check}"),
        result,
        severity: Severity::Stop,
        ..*plain
    }))
}

/// Keeps so many answers about a car, one after the other.
pub fn walk(
    machine: &Machine,
    lane: Option<&LaneThread>,
    car: &str,
    checks: usize,
    pause: Duration,
) -> Vec<Duration> {
    let mut log = machine.log(car);
    (0..checks)
        .map(|check| {
            thread::sleep(pause);
            let key = Instant::now();
            log.append(clock::now(), clock::new_id(), answer(check)).unwrap();
            log.settle().unwrap();
            if let Some(lane) = lane {
                lane.kept(car, 1);
            }
            key.elapsed()
        })
        .collect()
}

/// What a proxy does with the bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weather {
    Fair,
    /// Every piece waits 30 ms.
    Slow,
    /// Bytes are taken and never handed on.
    Swallow,
    /// The way to the server is closed and the way back stays open.
    HalfClosed,
    /// Connections are cut and none is taken.
    Cut,
}

impl Weather {
    fn of(code: u8) -> Self {
        [Self::Fair, Self::Slow, Self::Swallow, Self::HalfClosed, Self::Cut][usize::from(code)]
    }
}

/// A way to the server that can be spoilt.
pub struct Proxy {
    pub port: u16,
    weather: Arc<AtomicU8>,
}

impl Proxy {
    pub fn to(server: u16) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let weather = Arc::new(AtomicU8::new(0));
        let theirs = Arc::clone(&weather);
        thread::spawn(move || {
            for client in listener.incoming().flatten() {
                if Weather::of(theirs.load(Ordering::Relaxed)) == Weather::Cut {
                    continue;
                }
                let Ok(there) = TcpStream::connect(("127.0.0.1", server)) else { continue };
                let (back, forth) = (client.try_clone().unwrap(), there.try_clone().unwrap());
                let (one, two) = (Arc::clone(&theirs), Arc::clone(&theirs));
                thread::spawn(move || pump(client, forth, &one, true));
                thread::spawn(move || pump(there, back, &two, false));
            }
        });
        Self { port, weather }
    }

    pub fn set(&self, weather: Weather) {
        self.weather.store(weather as u8, Ordering::Relaxed);
    }
}

fn pump(mut from: TcpStream, mut to: TcpStream, weather: &AtomicU8, up: bool) {
    let mut bytes = [0; 4096];
    from.set_read_timeout(Some(Duration::from_millis(50))).unwrap();
    loop {
        let now = Weather::of(weather.load(Ordering::Relaxed));
        if now == Weather::Cut || (now == Weather::HalfClosed && up) {
            break;
        }
        match from.read(&mut bytes) {
            Ok(0) => break,
            Ok(_) if now == Weather::Swallow => {}
            Ok(count) => {
                if now == Weather::Slow {
                    thread::sleep(Duration::from_millis(30));
                }
                if to.write_all(&bytes[..count]).is_err() {
                    break;
                }
            }
            Err(error)
                if matches!(error.kind(), std::io::ErrorKind::WouldBlock | std::io::ErrorKind::TimedOut) => {}
            Err(_) => break,
        }
    }
    let _ = to.shutdown(Shutdown::Write);
    if Weather::of(weather.load(Ordering::Relaxed)) == Weather::Cut {
        let _ = to.shutdown(Shutdown::Both);
        let _ = from.shutdown(Shutdown::Both);
    }
}
