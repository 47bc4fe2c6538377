//! The event's server as PostgreSQL. Every call has a limit of time, so that a network that swallows everything
//! is found out as surely as one that is cut.

use std::future::{Future, poll_fn};
use std::rc::Rc;
use std::sync::Arc;
use std::time::Duration;

use tokio::io::{AsyncRead, AsyncWrite};
use tokio::runtime::{Builder, Runtime};
use tokio::sync::Notify;
use tokio::task::JoinHandle;
use tokio::time::timeout;
use tokio_postgres::config::SslMode;
use tokio_postgres::{AsyncMessage, Client, Config, Connection, Error, NoTls, Row, Statement};

use crate::diagnostic::escape_control;
use crate::lanes::address::Tls;
use crate::lanes::schema;
use crate::lanes::server::{Gate, Lane, Place, Run, Server, ServerError, Tip, Welcome};

use super::joined::Target;
use super::tls::Verified;

/// The longest a call may take.
const LIMIT: Duration = Duration::from_secs(20);
/// The longest connecting may take.
const CONNECT: Duration = Duration::from_secs(8);

/// Opens connections to one address.
pub struct PgGate {
    target: Target,
    verified: Option<Verified>,
    runtime: Rc<Runtime>,
    bell: Arc<Notify>,
}

/// An open connection.
pub struct PgLink {
    runtime: Rc<Runtime>,
    client: Client,
    bell: Arc<Notify>,
    task: JoinHandle<()>,
    tips: Option<(Statement, Statement)>,
    put: Option<Statement>,
    get: Option<Statement>,
    /// The oldest transaction that may still have been under way at the last look at the tips.
    seen: String,
}

impl PgGate {
    /// A gate to an address. `bell` is rung when something came, and may be rung by others to end a wait.
    ///
    /// # Errors
    /// Where the certificates to trust cannot be read, or the system gives no event loop.
    pub fn new(target: Target, bell: Arc<Notify>) -> Result<Self, String> {
        let verified = match target.address.tls {
            Tls::Verified => Some(Verified::new(target.address.sslrootcert.as_deref())?),
            Tls::Plain => None,
        };
        let runtime = Builder::new_current_thread().enable_all().build();
        let runtime = Rc::new(runtime.map_err(|error| format!("no network on this system: {error}"))?);
        Ok(Self { target, verified, runtime, bell })
    }

    fn config(&self) -> Config {
        let address = &self.target.address;
        let mut config = Config::new();
        config
            .host(&address.host)
            .port(address.port)
            .user(&address.user)
            .dbname(&address.database)
            .application_name("linewalk")
            .connect_timeout(Duration::from_secs(5))
            .keepalives_idle(Duration::from_secs(5))
            .tcp_user_timeout(Duration::from_secs(15))
            .options("-c statement_timeout=15000 -c lock_timeout=10000 -c timezone=UTC")
            .ssl_mode(if self.verified.is_some() { SslMode::Require } else { SslMode::Disable });
        if let Some(secret) = &self.target.secret {
            config.password(secret.reveal());
        }
        config
    }

    /// Opens a connection without looking at the tables.
    ///
    /// # Errors
    /// [`ServerError`].
    fn open(&self) -> Result<PgLink, ServerError> {
        let (config, bell) = (self.config(), Arc::clone(&self.bell));
        let verified = self.verified.clone();
        let connecting = async move {
            Ok::<_, Error>(match verified {
                Some(tls) => {
                    let (client, connection) = config.connect(tls).await?;
                    (client, tokio::spawn(listen(connection, bell)))
                }
                None => {
                    let (client, connection) = config.connect(NoTls).await?;
                    (client, tokio::spawn(listen(connection, bell)))
                }
            })
        };
        let opened = self.runtime.block_on(async { timeout(CONNECT, connecting).await });
        let (client, task) = opened
            .map_err(|_| ServerError::Away("no answer in time".to_owned()))?
            .map_err(|error| self.no_entry(&error))?;
        Ok(PgLink {
            runtime: Rc::clone(&self.runtime),
            client,
            bell: Arc::clone(&self.bell),
            task,
            tips: None,
            put: None,
            get: None,
            seen: "0".to_owned(),
        })
    }

    /// Why there is no connection, with what to do about a password.
    fn no_entry(&self, error: &Error) -> ServerError {
        let lacks_password =
            self.target.secret.is_none() && format!("{error:?}").contains("password missing");
        if lacks_password {
            return ServerError::Refused(format!(
                "{} needs a password: put it into ~/.pgpass, a service file or PGPASSWORD",
                self.target.address
            ));
        }
        told(error)
    }

    /// Makes the event's roles and tables, or brings older tables forward; gives the edition there was before.
    ///
    /// # Errors
    /// [`ServerError`]; nothing is changed then.
    pub fn create(&self) -> Result<i32, ServerError> {
        let mut link = self.open()?;
        let runtime = Rc::clone(&self.runtime);
        let client = &mut link.client;
        let work = async {
            let version: String = client.query_one("show server_version_num", &[]).await?.try_get(0)?;
            if version.parse::<i32>().unwrap_or(0) < schema::OLDEST_SERVER {
                return Ok(Err(ServerError::Refused("PostgreSQL 13 or newer is needed".to_owned())));
            }
            let change = client.transaction().await?;
            change.batch_execute("select pg_advisory_xact_lock(hashtext('linewalk'))").await?;
            change.batch_execute(schema::MAKE_ROLES).await?;
            change.batch_execute(schema::BEGIN).await?;
            let row = change.query_one("select edition from linewalk.version", &[]).await?;
            let before: i32 = row.try_get(0)?;
            if before > schema::EDITION {
                return Ok(Err(ServerError::Schema { there: before, here: schema::EDITION }));
            }
            for edition in before + 1..=schema::EDITION {
                change.batch_execute(schema::script(edition).unwrap_or_default()).await?;
            }
            change.execute("update linewalk.version set edition = $1", &[&schema::EDITION]).await?;
            change.commit().await?;
            Ok(Ok(before))
        };
        within(&runtime, work)?
    }
}

/// Drives a connection and rings the bell for every notice, and when it ends.
async fn listen<S, T>(mut connection: Connection<S, T>, bell: Arc<Notify>)
where
    S: AsyncRead + AsyncWrite + Unpin,
    T: AsyncRead + AsyncWrite + Unpin,
{
    while let Some(Ok(message)) = poll_fn(|context| connection.poll_message(context)).await {
        if matches!(message, AsyncMessage::Notification(_)) {
            bell.notify_one();
        }
    }
    bell.notify_one();
}

/// Carries out a call within its limit of time.
fn within<T>(runtime: &Runtime, work: impl Future<Output = Result<T, Error>>) -> Result<T, ServerError> {
    let done = runtime.block_on(async { timeout(LIMIT, work).await });
    done.map_err(|_| ServerError::Away(format!("no answer in {} s", LIMIT.as_secs())))?
        .map_err(|error| told(&error))
}

/// What an error of the server means for a lane. Its words are made inert.
fn told(error: &Error) -> ServerError {
    let Some(about) = error.as_db_error() else {
        let cause = std::error::Error::source(error).map_or_else(|| error.to_string(), ToString::to_string);
        let hint = if cause.contains("CaUsedAsEndEntity") {
            ": a certificate that signs itself has to say CA:FALSE (openssl req -x509 -addext basicConstraints=critical,CA:FALSE)"
        } else {
            ""
        };
        return ServerError::Away(format!("{}{hint}", escape_control(&cause)));
    };
    let words = escape_control(about.message());
    let code = about.code().code();
    match code {
        "LW001" | "23514" => ServerError::Fork(words),
        "42501" | "3D000" => ServerError::Refused(words),
        "42P01" | "3F000" => ServerError::Schema { there: 0, here: schema::EDITION },
        _ if code.starts_with("28") => ServerError::Refused(words),
        _ if code.starts_with("57P") || code.starts_with("08") => ServerError::Away(words),
        _ => ServerError::Unable(format!("{words} ({code})")),
    }
}

impl Gate for PgGate {
    type Link = PgLink;

    fn connect(&mut self) -> Result<(PgLink, Welcome), ServerError> {
        let link = self.open()?;
        let work = async {
            let row = link.client.query_one("select edition from linewalk.version", &[]).await?;
            let edition: i32 = row.try_get(0)?;
            if edition != schema::EDITION {
                return Ok(Err(ServerError::Schema { there: edition, here: schema::EDITION }));
            }
            link.client.batch_execute("listen linewalk").await?;
            let about = "select now(), has_column_privilege('linewalk.record', 'line', 'insert')";
            let row = link.client.query_one(about, &[]).await?;
            let now: std::time::SystemTime = row.try_get(0)?;
            Ok(Ok(Welcome { now: moment(now), may_write: row.try_get(1)? }))
        };
        let welcome = within(&self.runtime, work)??;
        Ok((link, welcome))
    }
}

fn moment(time: std::time::SystemTime) -> crate::model::entry::Moment {
    chrono::DateTime::<chrono::Local>::from(time).fixed_offset()
}

impl Drop for PgLink {
    fn drop(&mut self) {
        self.task.abort();
    }
}

const TIPS: &str = "select writer, car, seq, sum from linewalk.tip where changed >= $1::text::xid8";
const MARK: &str = "select pg_snapshot_xmin(pg_current_snapshot())::text";
const PUT: &str = "insert into linewalk.record (writer, car, seq, line) \
    select $1, $2, $3 + o - 1, l from unnest($4::bytea[]) with ordinality as t (l, o) order by o";
const GET: &str = "select r.writer, r.car, r.seq, r.line \
    from unnest($1::text[], $2::text[], $3::bigint[]) as p (writer, car, seq) \
    cross join lateral (select * from linewalk.record r where r.writer = p.writer and r.car = p.car \
    and r.seq > p.seq order by r.seq limit $4) r limit $4";
const LANES: &str = "select l.writer, l.login::text, coalesce(sum(t.seq), 0)::bigint, count(t.car), \
    coalesce((select count(*) from linewalk.record r where r.writer = l.writer \
        and r.received > now() - interval '1 hour'), 0), \
    count(t.car) filter (where t.received > now() - interval '1 hour'), max(t.received) \
    from linewalk.lane l left join linewalk.tip t on t.writer = l.writer group by l.writer, l.login \
    order by l.login, l.writer";

impl Server for PgLink {
    fn claim(&mut self, writer: &str, machine: &str) -> Result<(), ServerError> {
        let work = async {
            let add = "insert into linewalk.lane (writer, machine) values ($1, $2) on conflict do nothing";
            self.client.execute(add, &[&writer, &machine]).await?;
            let ask =
                "select login::text, machine, login = session_user from linewalk.lane where writer = $1";
            self.client.query_opt(ask, &[&writer]).await
        };
        let Some(row) = within(&self.runtime, work)? else {
            return Err(ServerError::Unable("the writer id could not be bound".to_owned()));
        };
        let (login, there, own): (String, String, bool) = (cell(&row, 0)?, cell(&row, 1)?, cell(&row, 2)?);
        if own && there == machine {
            return Ok(());
        }
        Err(ServerError::Claimed {
            writer: writer.to_owned(),
            login: escape_control(&login),
            machine: escape_control(&there),
        })
    }

    fn tips(&mut self) -> Result<Vec<Tip>, ServerError> {
        let (client, seen, ready) = (&self.client, &self.seen, self.tips.clone());
        let (ready, mark, rows) = within(&self.runtime, async {
            let ready = match ready {
                Some(ready) => ready,
                None => (client.prepare(MARK).await?, client.prepare(TIPS).await?),
            };
            // The mark is taken first: what ends after it is looked at again.
            let mark: String = client.query_one(&ready.0, &[]).await?.try_get(0)?;
            let rows = client.query(&ready.1, &[seen]).await?;
            Ok((ready, mark, rows))
        })?;
        self.tips = Some(ready);
        self.seen = mark;
        let tip = |row: &Row| {
            let seq: i64 = cell(row, 2)?;
            Ok(Tip { place: place(row)?, seq: u64::try_from(seq).unwrap_or(0), sum: cell(row, 3)? })
        };
        rows.iter().map(tip).collect()
    }

    fn put(&mut self, run: &Run) -> Result<(), ServerError> {
        let (client, ready) = (&self.client, self.put.clone());
        let first = i64::try_from(run.first).unwrap_or(i64::MAX);
        self.put = Some(within(&self.runtime, async {
            let ready = match ready {
                Some(ready) => ready,
                None => client.prepare(PUT).await?,
            };
            let place = &run.place;
            client.execute(&ready, &[&place.writer, &place.car, &first, &run.lines]).await?;
            Ok(ready)
        })?);
        Ok(())
    }

    fn get(&mut self, after: &[(Place, u64)], most: usize) -> Result<Vec<Run>, ServerError> {
        let (client, ready) = (&self.client, self.get.clone());
        let writers: Vec<&str> = after.iter().map(|(place, _)| place.writer.as_str()).collect();
        let cars: Vec<&str> = after.iter().map(|(place, _)| place.car.as_str()).collect();
        let seqs: Vec<i64> = after.iter().map(|(_, seq)| i64::try_from(*seq).unwrap_or(i64::MAX)).collect();
        let most = i64::try_from(most).unwrap_or(i64::MAX);
        let (ready, rows) = within(&self.runtime, async {
            let ready = match ready {
                Some(ready) => ready,
                None => client.prepare(GET).await?,
            };
            let rows = client.query(&ready, &[&writers, &cars, &seqs, &most]).await?;
            Ok((ready, rows))
        })?;
        self.get = Some(ready);
        let mut runs: Vec<Run> = Vec::new();
        for row in &rows {
            let (place, seq, line) = (place(row)?, cell::<i64>(row, 2)?, cell::<Vec<u8>>(row, 3)?);
            let seq = u64::try_from(seq).unwrap_or(0);
            match runs.last_mut() {
                Some(run) if run.place == place && run.first + run.lines.len() as u64 == seq => {
                    run.lines.push(line);
                }
                _ => runs.push(Run { place, first: seq, lines: vec![line] }),
            }
        }
        Ok(runs)
    }

    fn offer_file(&mut self, car: &str, text: &str) -> Result<(), ServerError> {
        let add = "insert into linewalk.car_file (car, body) values ($1, $2) on conflict do nothing";
        within(&self.runtime, self.client.execute(add, &[&car, &text])).map(|_| ())
    }

    fn files(&mut self, cars: &[String]) -> Result<Vec<(String, String)>, ServerError> {
        let ask = "select car, body from linewalk.car_file where car = any($1)";
        let rows = within(&self.runtime, self.client.query(ask, &[&cars]))?;
        rows.iter().map(|row| Ok((cell(row, 0)?, cell(row, 1)?))).collect()
    }

    fn lanes(&mut self) -> Result<Vec<Lane>, ServerError> {
        let rows = within(&self.runtime, self.client.query(LANES, &[]))?;
        let count =
            |row: &Row, at: usize| cell::<i64>(row, at).map(|count| u64::try_from(count).unwrap_or(0));
        let lane = |row: &Row| {
            Ok(Lane {
                writer: cell(row, 0)?,
                login: cell(row, 1)?,
                records: [count(row, 2)?, count(row, 4)?],
                cars: [count(row, 3)?, count(row, 5)?],
                last: cell::<Option<std::time::SystemTime>>(row, 6)?.map(moment),
            })
        };
        rows.iter().map(lane).collect()
    }

    fn wait(&mut self, at_most: Duration) -> Result<(), ServerError> {
        // The end of the time is no error: it is only time to look again.
        let _ = self.runtime.block_on(async { timeout(at_most, self.bell.notified()).await });
        if self.client.is_closed() {
            return Err(ServerError::Away("the connection was closed".to_owned()));
        }
        Ok(())
    }
}

fn place(row: &Row) -> Result<Place, ServerError> {
    Ok(Place { writer: cell(row, 0)?, car: cell(row, 1)? })
}

/// One value of an answer; a server that answers with something else is not the event's.
fn cell<'r, T: tokio_postgres::types::FromSql<'r>>(row: &'r Row, at: usize) -> Result<T, ServerError> {
    row.try_get(at).map_err(|error| ServerError::Refused(escape_control(&error.to_string())))
}
