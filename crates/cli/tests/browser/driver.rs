//! A WebDriver client as small as these tests need: the W3C protocol, one
//! request at a time over a plain socket.
//!
//! The crates that drive a browser bring an asynchronous HTTP client, a URL
//! parser and Unicode tables, more than fifty crates in all; the part of the
//! protocol used here is a dozen calls with JSON in and out.
//!
//! Source: WebDriver, W3C Recommendation, 5 June 2018, section 6 "Protocol".

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

/// The name under which an element is handed over (WebDriver, 11 "Elements").
const ELEMENT: &str = "element-6066-11e4-a52e-4f735466cecf";
/// How long something on a page may take to appear.
const PATIENCE: Duration = Duration::from_secs(10);

pub(crate) const TAB: char = '\u{e004}';
pub(crate) const ENTER: char = '\u{e007}';

/// Chromium and its driver, where both are installed.
pub(crate) struct Installed {
    chromium: PathBuf,
    driver: PathBuf,
}

impl Installed {
    /// Finds both on the path. Where one is missing the caller's test is left
    /// out, and says so; `POURWRIGHT_BROWSER=required` makes that a failure.
    pub(crate) fn find() -> Option<Self> {
        let folders = std::env::var_os("PATH").unwrap_or_default();
        let first = |names: &[&str]| {
            std::env::split_paths(&folders)
                .flat_map(|folder| names.iter().map(move |name| folder.join(name)))
                .find(|file| file.is_file())
        };
        let found = first(&["chromium", "chromium-browser"])
            .zip(first(&["chromedriver"]))
            .map(|(chromium, driver)| Self { chromium, driver });
        if found.is_none() {
            assert!(
                std::env::var("POURWRIGHT_BROWSER").as_deref() != Ok("required"),
                "the browser test is demanded, and chromium or chromedriver is not on the path"
            );
            // Straight to the stream: what a passing test prints is not shown.
            let words =
                "The browser test is left out: chromium or chromedriver is not on the path.";
            drop(writeln!(std::io::stderr(), "{words}"));
        }
        found
    }
}

/// A browser with one window, and the driver it is spoken to through.
pub(crate) struct Browser {
    driver: Child,
    port: u16,
    session: String,
    home: String,
    _profile: tempfile::TempDir,
}

impl Drop for Browser {
    fn drop(&mut self) {
        // The driver closes the browser; should that fail, it goes with it.
        let path = format!("/session/{}", self.session);
        drop(request(self.port, "DELETE", &path, None));
        drop(self.driver.kill());
        drop(self.driver.wait());
    }
}

impl Browser {
    /// Starts a browser that finds the program at `home`.
    pub(crate) fn start(installed: &Installed, home: &str) -> Self {
        let profile = tempfile::tempdir().unwrap();
        let mut driver = Command::new(&installed.driver)
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(driver.stdout.take().unwrap()).lines();
        let port = lines
            .find_map(|line| {
                let line = line.unwrap();
                let port = line.split_once("started successfully on port ")?.1;
                port.trim_end_matches('.').parse().ok()
            })
            .expect("the driver says its port");
        // The driver must not block on a pipe that nobody reads.
        std::thread::spawn(move || lines.for_each(drop));
        let folder = format!("--user-data-dir={}", profile.path().display());
        let flags = [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--disable-background-networking",
            "--disable-component-update",
            "--no-first-run",
            "--hide-scrollbars",
            "--window-size=1280,900",
            &folder,
        ];
        let wanted = json!({ "capabilities": { "alwaysMatch": {
            "browserName": "chrome",
            "goog:chromeOptions": { "binary": installed.chromium, "args": flags },
            "goog:loggingPrefs": { "browser": "ALL" },
        }}});
        let session = match request(port, "POST", "/session", Some(&wanted)) {
            Ok(session) => session,
            Err(problem) => {
                drop(driver.kill());
                panic!("the browser does not start: {problem}");
            }
        };
        Self {
            driver,
            port,
            session: session["sessionId"].as_str().unwrap().to_owned(),
            home: home.to_owned(),
            _profile: profile,
        }
    }

    fn ask(&self, method: &str, path: &str, body: Option<&Value>) -> Result<Value, String> {
        let path = format!("/session/{}/{path}", self.session);
        request(self.port, method, &path, body)
    }

    #[track_caller]
    fn tell(&self, path: &str, body: &Value) -> Value {
        self.ask("POST", path, Some(body)).unwrap()
    }

    /// A command of the browser's own protocol.
    #[track_caller]
    pub(crate) fn devtools(&self, command: &str, parameters: &Value) -> Value {
        let body = json!({ "cmd": command, "params": parameters });
        self.tell("goog/cdp/execute", &body)
    }

    /// Opens a page of the program.
    #[track_caller]
    pub(crate) fn open(&self, path: &str) {
        self.tell("url", &json!({ "url": format!("{}{path}", self.home) }));
    }

    /// Loads the page again, as after a dead battery.
    #[track_caller]
    pub(crate) fn reload(&self) {
        self.tell("refresh", &json!({}));
    }

    /// The window that is spoken to.
    #[track_caller]
    pub(crate) fn window(&self) -> String {
        let window = self.ask("GET", "window", None).unwrap();
        window.as_str().unwrap().to_owned()
    }

    /// Opens another window of the same browser, and speaks to that.
    #[track_caller]
    pub(crate) fn another_window(&self) {
        let window = self.tell("window/new", &json!({ "type": "tab" }));
        self.to_window(window["handle"].as_str().unwrap());
    }

    /// Speaks to a window.
    #[track_caller]
    pub(crate) fn to_window(&self, window: &str) {
        self.tell("window", &json!({ "handle": window }));
    }

    /// Says yes to what the page asks in a box of its own.
    #[track_caller]
    pub(crate) fn accept(&self) {
        self.tell("alert/accept", &json!({}));
    }

    /// The address, without the program's own part.
    #[track_caller]
    pub(crate) fn path(&self) -> String {
        let url = self.ask("GET", "url", None).unwrap();
        let url = url.as_str().unwrap();
        url.strip_prefix(&self.home).unwrap_or(url).to_owned()
    }

    /// The result of a script; for measuring, never for acting.
    #[track_caller]
    pub(crate) fn script(&self, script: &str) -> Value {
        self.tell("execute/sync", &json!({ "script": script, "args": [] }))
    }

    fn find(&self, by: &str, what: &str) -> Result<String, String> {
        let found = self.ask(
            "POST",
            "element",
            Some(&json!({ "using": by, "value": what })),
        )?;
        Ok(found[ELEMENT].as_str().unwrap_or_default().to_owned())
    }

    /// Does something to an element, again for a while if the page was just
    /// being replaced.
    #[track_caller]
    fn with(&self, xpath: &str, act: impl Fn(&str) -> Result<Value, String>) -> Value {
        let until = Instant::now() + PATIENCE;
        loop {
            match self.find("xpath", xpath).and_then(|element| act(&element)) {
                Ok(value) => return value,
                Err(problem) if Instant::now() > until => {
                    panic!("{xpath} at {}: {problem}\n{}", self.path(), self.words());
                }
                Err(_) => std::thread::sleep(Duration::from_millis(40)),
            }
        }
    }

    /// Everything that can be read on the page, in one line.
    pub(crate) fn words(&self) -> String {
        self.words_of("body")
    }

    /// What can be read in the first element of a selector, in one line;
    /// nothing where there is none.
    pub(crate) fn words_of(&self, selector: &str) -> String {
        let text = self
            .find("css selector", selector)
            .and_then(|element| self.ask("GET", &format!("element/{element}/text"), None));
        let text = text.unwrap_or_default();
        let words: Vec<_> = text
            .as_str()
            .unwrap_or_default()
            .split_whitespace()
            .collect();
        words.join(" ")
    }

    /// Waits until the page says this.
    #[track_caller]
    pub(crate) fn sees(&self, words: &str) {
        self.sees_in("body", words);
    }

    /// Waits until the first element of a selector says this.
    #[track_caller]
    pub(crate) fn sees_in(&self, selector: &str, words: &str) {
        let until = Instant::now() + PATIENCE;
        loop {
            let read = self.words_of(selector);
            if read.contains(words) {
                return;
            }
            assert!(
                Instant::now() < until,
                "\"{words}\" does not appear in {selector} of {}, which says: {read}",
                self.path()
            );
            std::thread::sleep(Duration::from_millis(40));
        }
    }

    /// Writes into the box with this label, over what stands in it.
    #[track_caller]
    pub(crate) fn write(&self, label: &str, text: &str) {
        self.write_at(&boxed("", label), text);
    }

    /// Writes into the box with this label, in the group with this heading.
    #[track_caller]
    pub(crate) fn write_in(&self, group: &str, label: &str, text: &str) {
        let group = format!("//fieldset[legend[normalize-space()='{group}']]");
        self.write_at(&boxed(&group, label), text);
    }

    /// Writes into the nth box with this label, counted from 1.
    #[track_caller]
    pub(crate) fn write_nth(&self, label: &str, nth: usize, text: &str) {
        let label = format!("(//label[normalize-space()='{label}'])[{nth}]/@for");
        self.write_at(&format!("//*[@id={label}]"), text);
    }

    #[track_caller]
    fn write_at(&self, xpath: &str, text: &str) {
        self.with(xpath, |element| {
            self.ask(
                "POST",
                &format!("element/{element}/clear"),
                Some(&json!({})),
            )?;
            let keys = json!({ "text": text });
            self.ask("POST", &format!("element/{element}/value"), Some(&keys))
        });
    }

    /// What stands in the box with this label.
    #[track_caller]
    pub(crate) fn read(&self, label: &str) -> String {
        let value = self.with(&boxed("", label), |element| {
            self.ask("GET", &format!("element/{element}/property/value"), None)
        });
        value.as_str().unwrap_or_default().to_owned()
    }

    /// Takes a choice of the list with this label.
    #[track_caller]
    pub(crate) fn choose(&self, label: &str, choice: &str) {
        let xpath = format!(
            "{}/option[contains(normalize-space(), '{choice}')]",
            boxed("", label)
        );
        self.click(&xpath);
    }

    /// Presses the button, link or summary that says exactly this.
    #[track_caller]
    pub(crate) fn press(&self, words: &str) {
        let said = format!("normalize-space(translate(., '\u{a0}', ' '))=\"{words}\"");
        self.click(&format!(
            "//button[{said}] | //a[{said}] | //summary[{said}]"
        ));
    }

    #[track_caller]
    fn click(&self, xpath: &str) {
        self.with(xpath, |element| {
            self.ask(
                "POST",
                &format!("element/{element}/click"),
                Some(&json!({})),
            )
        });
    }

    /// Types on the keyboard, wherever the page listens.
    #[track_caller]
    pub(crate) fn keys(&self, keys: &str) {
        let strokes: Vec<_> = keys
            .chars()
            .flat_map(|key| ["keyDown", "keyUp"].map(|kind| json!({ "type": kind, "value": key })))
            .collect();
        let keyboard = json!({ "type": "key", "id": "keyboard", "actions": strokes });
        self.tell("actions", &json!({ "actions": [keyboard] }));
    }

    /// The name or the words of what the keyboard is on.
    #[track_caller]
    pub(crate) fn focus(&self) -> String {
        let on = self
            .script("const on = document.activeElement; return on.name || on.textContent.trim();");
        on.as_str().unwrap_or_default().to_owned()
    }

    /// Shows pages as a screen of this many CSS pixels does, each of them
    /// `zoom` pixels of the device wide.
    pub(crate) fn screen(&self, width: u32, height: u32, zoom: u32) {
        let size =
            json!({ "width": width, "height": height, "deviceScaleFactor": zoom, "mobile": false });
        self.devtools("Emulation.setDeviceMetricsOverride", &size);
    }

    /// Shows pages in the light or the dark theme.
    pub(crate) fn theme(&self, theme: &str) {
        let feature = json!({ "name": "prefers-color-scheme", "value": theme });
        self.devtools(
            "Emulation.setEmulatedMedia",
            &json!({ "features": [feature] }),
        );
    }

    /// Keeps pictures of the page, on each screen in each theme, and does
    /// something more with each of them by its name.
    pub(crate) fn pictures_and(&self, name: &str, mut see: impl FnMut(&str)) {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("browser");
        std::fs::create_dir_all(&folder).unwrap();
        for (screen, width, height) in [
            ("phone", 360, 740),
            ("tablet", 820, 1180),
            ("desktop", 1280, 900),
        ] {
            self.screen(width, height, 1);
            for theme in ["light", "dark"] {
                self.theme(theme);
                let picture = format!("{name}-{screen}-{theme}");
                self.picture(&folder.join(format!("{picture}.png")));
                see(&picture);
            }
        }
        self.theme("light");
    }

    /// Keeps pictures of the page, on each screen in each theme.
    pub(crate) fn pictures(&self, name: &str) {
        self.pictures_and(name, |_| {});
    }

    /// Keeps a picture of the whole page, as far down as it goes.
    fn picture(&self, file: &Path) {
        let size = self.devtools("Page.getLayoutMetrics", &json!({}));
        let size = &size["cssContentSize"];
        let clip =
            json!({ "x": 0, "y": 0, "width": size["width"], "height": size["height"], "scale": 1 });
        let shot = self.devtools(
            "Page.captureScreenshot",
            &json!({ "format": "png", "captureBeyondViewport": true, "optimizeForSpeed": true, "clip": clip }),
        );
        std::fs::write(file, from_base64(shot["data"].as_str().unwrap())).unwrap();
    }

    /// How many pages the page takes on paper of this size in inches, by the
    /// margins of its own style (ISO 32000-1, 7.7.3.3 "Page Objects").
    pub(crate) fn pages_on(&self, width: f64, height: f64) -> usize {
        let paper =
            json!({ "paperWidth": width, "paperHeight": height, "preferCSSPageSize": false });
        let print = self.devtools("Page.printToPDF", &paper);
        let file = from_base64(print["data"].as_str().unwrap());
        let words = String::from_utf8_lossy(&file);
        words.matches("/Type /Page\n").count()
    }

    /// What the browser complained about since it was last asked: a refused
    /// script, a missing file, a broken policy.
    pub(crate) fn complaints(&self) -> Vec<String> {
        let log = self.tell("se/log", &json!({ "type": "browser" }));
        let lines = log.as_array().into_iter().flatten();
        lines
            .filter(|line| matches!(line["level"].as_str(), Some("SEVERE" | "WARNING")))
            .map(|line| line["message"].as_str().unwrap_or_default().to_owned())
            .collect()
    }
}

/// The box, list or area that belongs to a label.
fn boxed(group: &str, label: &str) -> String {
    let label = format!("{group}//label[normalize-space()=\"{label}\"]/@for");
    format!("//*[@id={label}]")
}

/// One request and its answer's `value`; an error is the driver's own words.
fn request(port: u16, method: &str, path: &str, body: Option<&Value>) -> Result<Value, String> {
    let body = body.map(ToString::to_string).unwrap_or_default();
    let mut socket = TcpStream::connect(("127.0.0.1", port)).map_err(|error| error.to_string())?;
    let head = format!(
        "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nContent-Type: application/json\r\n\
         Content-Length: {}\r\nConnection: close\r\n\r\n",
        body.len()
    );
    let answer = (|| {
        socket.write_all(head.as_bytes())?;
        socket.write_all(body.as_bytes())?;
        let mut reader = BufReader::new(&mut socket);
        let mut length = 0;
        loop {
            let mut line = String::new();
            reader.read_line(&mut line)?;
            let line = line.trim_end().to_ascii_lowercase();
            if line.is_empty() {
                break;
            }
            if let Some(said) = line.strip_prefix("content-length:") {
                length = said.trim().parse().unwrap_or(0);
            }
        }
        let mut answer = vec![0; length];
        reader.read_exact(&mut answer)?;
        Ok(answer)
    })();
    let answer: Vec<u8> = answer.map_err(|error: std::io::Error| error.to_string())?;
    let answer: Value = serde_json::from_slice(&answer).map_err(|error| error.to_string())?;
    let value = &answer["value"];
    match value.get("error").and_then(Value::as_str) {
        Some(error) => {
            let words = value["message"].as_str().unwrap_or_default();
            Err(format!(
                "{error}: {}",
                words.lines().next().unwrap_or_default()
            ))
        }
        None => Ok(value.clone()),
    }
}

/// Bytes from base 64 (RFC 4648, section 4), as screenshots are handed over.
fn from_base64(text: &str) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(text.len() / 4 * 3);
    let (mut held, mut bits) = (0_u32, 0);
    for letter in text.bytes() {
        let value = match letter {
            b'A'..=b'Z' => letter - b'A',
            b'a'..=b'z' => letter - b'a' + 26,
            b'0'..=b'9' => letter - b'0' + 52,
            b'+' => 62,
            b'/' => 63,
            _ => continue,
        };
        held = held << 6 | u32::from(value);
        bits += 6;
        if bits >= 8 {
            bits -= 8;
            bytes.push(u8::try_from(held >> bits & 0xff).unwrap());
        }
    }
    bytes
}

#[test]
fn pictures_come_out_of_base_64() {
    // The test vectors of RFC 4648, section 10.
    assert_eq!(from_base64("Zm9vYmFy"), b"foobar");
    assert_eq!(from_base64("Zm9vYg=="), b"foob");
    assert_eq!(from_base64("Zg=="), b"f");
}
