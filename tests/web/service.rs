//! A service of its own for each test, and those who use it.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::channel;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use serde_json::Value;
use tempfile::TempDir;
use ureq::Agent;

/// A password that is long enough.
pub const PASSWORD: &str = "a long password";

/// A service that runs.
pub struct Service {
    child: Child,
    /// Its address: `http://127.0.0.1:4711`.
    pub base: String,
    /// The link that it printed.
    pub link: Option<String>,
    /// How long it took to be ready.
    pub ready: Duration,
    log: Arc<Mutex<String>>,
    folder: Arc<TempDir>,
}

impl Service {
    /// A new one in a folder of its own, as of the demo's first Monday.
    pub fn start() -> Self {
        Self::start_in(Arc::new(tempfile::tempdir().expect("a folder")), &[])
    }

    /// One over what a folder has.
    pub fn start_in(folder: Arc<TempDir>, args: &[&str]) -> Self {
        let began = Instant::now();
        let bind: &[&str] = if args.contains(&"--bind") { &[] } else { &["--bind", "127.0.0.1:0"] };
        let now: &[&str] = if args.contains(&"--now") { &[] } else { &["--now", "2026-12-07 am"] };
        let mut child = command(folder.path(), &["serve"])
            .args(now)
            .args(bind)
            .args(args)
            .stdin(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the service starts");
        let log = Arc::new(Mutex::new(String::new()));
        let (tell, told) = channel();
        let lines = BufReader::new(child.stderr.take().expect("its log")).lines();
        let into = Arc::clone(&log);
        std::thread::spawn(move || {
            for line in lines.map_while(Result::ok) {
                let _ = tell.send(line.clone());
                let mut log = into.lock().expect("the log");
                log.push_str(&line);
                log.push('\n');
            }
        });
        let (mut base, mut link) = (None, None);
        while base.is_none() || (link.is_none() && !folder.path().join("owned").exists()) {
            let line = told.recv_timeout(Duration::from_secs(60)).expect("the service says where it is");
            if let Some((_, rest)) = line.split_once("serves at ") {
                base = rest.split_once("/ ").map(|(base, _)| base.to_owned());
            }
            link = link.or_else(|| line.split_once("/link/").map(|(_, token)| token.to_owned()));
        }
        let base = base.expect("an address");
        let who = Somebody::nobody(&base);
        while who.get("/health").status != 200 {
            assert!(began.elapsed() < Duration::from_secs(60), "it gets well");
        }
        Self { child, base, link, ready: began.elapsed(), log, folder }
    }

    /// Its folder.
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }
    /// The folder, to start another one in.
    pub fn shared(&self) -> Arc<TempDir> {
        Arc::clone(&self.folder)
    }
    /// The database.
    pub fn db(&self) -> PathBuf {
        self.folder().join("yardless.db")
    }
    /// All it has logged.
    pub fn log(&self) -> String {
        self.log.lock().expect("the log").clone()
    }
    /// Its process.
    pub fn pid(&self) -> u32 {
        self.child.id()
    }
    /// Ends it at once, whatever it does.
    pub fn kill(&mut self) {
        self.child.kill().expect("killed");
        self.child.wait().expect("ended");
    }
    /// Asks it to end; how long that took.
    pub fn stop(&mut self) -> Duration {
        let began = Instant::now();
        let asked = Command::new("kill").args(["-TERM", &self.pid().to_string()]).status();
        assert!(asked.expect("kill").success());
        assert!(self.child.wait().expect("ended").success());
        began.elapsed()
    }
    /// The memory that it holds, in kB.
    pub fn resident(&self) -> u64 {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.pid())).expect("its status");
        let line = status.lines().find(|line| line.starts_with("VmRSS:")).expect("its memory");
        line.split_whitespace().nth(1).and_then(|kb| kb.parse().ok()).expect("a number")
    }

    /// The owner, with the demo book.
    pub fn owner(&self) -> Somebody {
        let owner = self.first_owner();
        let began = owner.post("/start", &[("with", "demo")]);
        assert_eq!(began.status, 303, "{}", began.body);
        owner
    }

    /// The owner, before there is a book.
    pub fn first_owner(&self) -> Somebody {
        let link = self.link.as_ref().expect("a link");
        let mut owner = Somebody::nobody(&self.base);
        let fields = [("name", "Rae Owner"), ("password", PASSWORD), ("again", PASSWORD)];
        let signed = owner.post(&format!("/link/{link}"), &fields);
        assert_eq!(signed.status, 303, "{}", signed.body);
        owner.is(&signed);
        std::fs::write(self.folder().join("owned"), "").expect("noted");
        owner
    }

    /// Somebody else, whom the owner lets in.
    pub fn add(&self, owner: &Somebody, name: &str, role: &str) -> Somebody {
        let added = owner.post("/sign-ins", &[("name", name), ("role", role)]);
        let (_, rest) = added.body.split_once("/link/").unwrap_or_else(|| panic!("a link: {}", added.body));
        let mut somebody = Somebody::nobody(&self.base);
        let signed = somebody.post(&format!("/link/{}", &rest[..64]), &[("password", PASSWORD), ("again", PASSWORD)]);
        assert_eq!(signed.status, 303, "{}", signed.body);
        somebody.is(&signed);
        somebody
    }
}

impl Drop for Service {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The program in a folder, deaf to the environment of whoever runs the tests.
pub fn command(folder: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("yardless"));
    command.current_dir(folder).args(args);
    for name in ["YARDLESS_BOOK", "YARDLESS_DB", "RUST_LOG"] {
        command.env_remove(name);
    }
    command
}

/// Somebody at a browser.
#[derive(Clone)]
pub struct Somebody {
    agent: Agent,
    base: String,
    /// The cookie's value; empty: not signed in.
    pub token: String,
    /// The key of the session's forms.
    pub key: String,
}

/// What came back.
pub struct Came {
    /// The status.
    pub status: u16,
    /// The body as text.
    pub body: String,
    /// The heads: names in small letters.
    pub heads: Vec<(String, String)>,
}

impl Came {
    /// A head's value.
    pub fn head(&self, name: &str) -> &str {
        self.heads.iter().find(|(of, _)| of == name).map_or("", |(_, value)| value)
    }
    /// The body as JSON.
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.body).unwrap_or_else(|e| panic!("{e}: {}", self.body))
    }
}

impl Somebody {
    /// Nobody yet.
    pub fn nobody(base: &str) -> Self {
        let config = Agent::config_builder().http_status_as_error(false).max_redirects(0);
        let agent = config.timeout_global(Some(Duration::from_secs(60))).build().new_agent();
        Self { agent, base: base.to_owned(), token: String::new(), key: String::new() }
    }

    /// The same somebody at a service that has the same sessions.
    pub fn at(&self, base: &str) -> Self {
        Self { token: self.token.clone(), key: self.key.clone(), ..Self::nobody(base) }
    }

    /// Takes the cookie of an answer, and the key of its pages.
    pub fn is(&mut self, came: &Came) {
        let cookie = came.head("set-cookie");
        assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Lax"), "{cookie}");
        self.token = cookie.split(['=', ';']).nth(1).map(str::to_owned).expect("a token");
        self.key = self.get("/api/me").json()["key"].as_str().map(str::to_owned).expect("a key");
    }

    fn cookie(&self) -> String {
        format!("yardless={}", self.token)
    }

    /// A page.
    pub fn get(&self, path: &str) -> Came {
        came(self.agent.get(format!("{}{path}", self.base)).header("cookie", self.cookie()).call())
    }

    /// A form, with the key of the session.
    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Came {
        let mut all = vec![("key", self.key.as_str())];
        all.extend(fields);
        self.post_bare(path, &all)
    }

    /// A form as it is.
    pub fn post_bare(&self, path: &str, fields: &[(&str, &str)]) -> Came {
        let request = self.agent.post(format!("{}{path}", self.base)).header("cookie", self.cookie());
        came(request.send_form(fields.iter().copied()))
    }

    /// A form with one head besides.
    pub fn post_from(&self, path: &str, head: (&str, &str), fields: &[(&str, &str)]) -> Came {
        let request = self.agent.post(format!("{}{path}", self.base)).header("cookie", self.cookie());
        came(request.header(head.0, head.1).send_form(fields.iter().copied()))
    }

    /// A file in a form.
    pub fn upload(&self, path: &str, fields: &[(&str, &str)], file: (&str, &str, &[u8])) -> Came {
        const EDGE: &str = "----an-edge-between-parts";
        let mut body = Vec::new();
        let mut all = vec![("key", self.key.as_str())];
        all.extend(fields);
        for (name, value) in all {
            body.extend(
                format!("--{EDGE}\r\ncontent-disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n").bytes(),
            );
        }
        let (field, name, bytes) = file;
        let head = format!("content-disposition: form-data; name=\"{field}\"; filename=\"{name}\"");
        body.extend(format!("--{EDGE}\r\n{head}\r\ncontent-type: application/octet-stream\r\n\r\n").bytes());
        body.extend(bytes);
        body.extend(format!("\r\n--{EDGE}--\r\n").bytes());
        let request = self.agent.post(format!("{}{path}", self.base)).header("cookie", self.cookie());
        came(request.content_type(format!("multipart/form-data; boundary={EDGE}")).send(&body))
    }

    /// JSON to the API, with the key of the session.
    pub fn put(&self, path: &str, body: &Value) -> Came {
        self.put_text(path, &body.to_string())
    }

    /// The same, as it is written.
    pub fn put_text(&self, path: &str, body: &str) -> Came {
        let request = self.agent.put(format!("{}{path}", self.base)).header("cookie", self.cookie());
        came(request.header("x-key", &self.key).content_type("application/json").send(body))
    }

    /// The same, posted.
    pub fn post_json(&self, path: &str, body: &Value) -> Came {
        let request = self.agent.post(format!("{}{path}", self.base)).header("cookie", self.cookie());
        came(request.header("x-key", &self.key).content_type("application/json").send(body.to_string()))
    }

    /// The book as the API has it: its revision and its value.
    pub fn book(&self) -> (i64, Value) {
        let mut came = self.get("/api/book").json();
        (came["revision"].as_i64().expect("a number"), came["book"].take())
    }
}

fn came(answer: Result<ureq::http::Response<ureq::Body>, ureq::Error>) -> Came {
    let mut answer = answer.unwrap_or_else(|e| panic!("an answer: {e}"));
    let heads = answer.headers().iter();
    let heads = heads.map(|(name, value)| (name.to_string(), value.to_str().unwrap_or_default().to_owned())).collect();
    let body = answer.body_mut().with_config().limit(50_000_000).lossy_utf8(true).read_to_string().expect("a body");
    Came { status: answer.status().as_u16(), body, heads }
}

/// The value of a hidden field of a page.
pub fn hidden<'p>(page: &'p str, name: &str) -> &'p str {
    let field = format!("name=\"{name}\" value=\"");
    let (_, rest) = page.split_once(&field).unwrap_or_else(|| panic!("no {name} in {page}"));
    rest.split('"').next().expect("a value")
}

/// The fields of the page's large form as a browser would send them back.
pub fn filled(page: &str) -> Vec<(String, String)> {
    let (_, form) = page.split_once("class=\"form\">").expect("a form");
    let form = form.split("</form>").next().expect("its end");
    let plain = |text: &str| {
        text.replace("&#60;", "<")
            .replace("&#62;", ">")
            .replace("&#34;", "\"")
            .replace("&#39;", "'")
            .replace("&#38;", "&")
    };
    let value_of = |tag: &str, name: &str| {
        let (_, rest) = tag.split_once(&format!(" {name}=\""))?;
        rest.split('"').next().map(plain)
    };
    let mut fields = Vec::new();
    for part in form.split('<').skip(1) {
        let tag = part.split('>').next().unwrap_or_default();
        let Some(name) = value_of(tag, "name") else {
            if part.starts_with("option") && tag.ends_with("selected") {
                let value = value_of(tag, "value").unwrap_or_default();
                if let Some((_, last)) = fields.last_mut() {
                    *last = value;
                }
            }
            continue;
        };
        if part.starts_with("textarea") {
            let text = part.split_once('>').map_or("", |(_, text)| text);
            fields.push((name, plain(text)));
        } else if part.starts_with("select") {
            fields.push((name, String::new()));
        } else if tag.contains("type=\"checkbox\"") {
            if tag.contains(" checked") {
                fields.push((name, value_of(tag, "value").unwrap_or_else(|| "on".to_owned())));
            }
        } else if part.starts_with("input") {
            fields.push((name, value_of(tag, "value").unwrap_or_default()));
        }
    }
    fields
}

/// Fields as a form sends them, with one of them otherwise.
pub fn with<'f>(fields: &'f [(String, String)], name: &'f str, value: &'f str) -> Vec<(&'f str, &'f str)> {
    assert!(fields.iter().any(|(of, _)| of == name), "{name} is no field: {fields:?}");
    let other = |(of, was): &'f (String, String)| (of.as_str(), if of == name { value } else { was.as_str() });
    fields.iter().map(other).collect()
}
