//! A real browser, operated as a person does: by keys or by clicks, both counted.

use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use fantoccini::actions::{InputSource as _, KeyAction, KeyActions};
use fantoccini::error::CmdError;
use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use jumpseat_test_kit::{PartError, TestProcess, free_port, wait_until};
use serde_json::{Value, json};
use tokio::runtime::Runtime;

/// How long a page may take before a test gives up.
const PATIENCE: Duration = Duration::from_secs(15);

/// The browser's window.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BrowserWindow {
    /// In pixels.
    pub width: u32,
    /// In pixels.
    pub height: u32,
    /// The person prefers dark pages.
    pub dark: bool,
    /// A phone, with a finger in place of a mouse.
    pub phone: bool,
}

impl BrowserWindow {
    /// A desktop window, in light colours.
    pub const DESK: Self = Self {
        width: 1280,
        height: 900,
        dark: false,
        phone: false,
    };
    /// A phone, in light colours.
    pub const PHONE: Self = Self {
        width: 390,
        height: 844,
        dark: false,
        phone: true,
    };

    /// The same in dark colours.
    pub const fn dark(self) -> Self {
        Self { dark: true, ..self }
    }

    fn options(self, profile: &Path) -> Value {
        let mut arguments = vec![
            "--headless=new".to_owned(),
            "--no-sandbox".into(),
            "--disable-gpu".into(),
            "--disable-dev-shm-usage".into(),
            "--disable-background-networking".into(),
            "--disable-component-update".into(),
            "--disable-sync".into(),
            "--hide-scrollbars".into(),
            "--mute-audio".into(),
            "--no-first-run".into(),
            format!("--window-size={},{}", self.width, self.height),
            format!("--user-data-dir={}", profile.display()),
        ];
        // The browser's own numbers: 0 is dark, 1 is light.
        let scheme = i32::from(!self.dark);
        arguments.push(format!("--blink-settings=preferredColorScheme={scheme}"));
        let mut options = json!({ "binary": "/usr/bin/chromium", "args": arguments });
        if self.phone {
            options["mobileEmulation"] = json!({ "deviceMetrics": {
                "width": self.width, "height": self.height, "pixelRatio": 1.0, "touch": true,
            }});
        }
        json!({ "goog:chromeOptions": options, "unhandledPromptBehavior": "ignore" })
    }
}

/// A browser with one window.
pub struct WebBrowser {
    runtime: Runtime,
    client: Client,
    keys: usize,
    clicks: usize,
    // Dropped after the session is closed.
    _driver: TestProcess,
}

impl std::fmt::Debug for WebBrowser {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Browser")
            .field("keys", &self.keys)
            .field("clicks", &self.clicks)
            .finish_non_exhaustive()
    }
}

fn failed(error: impl std::fmt::Display) -> PartError {
    PartError::failed("chromium", error)
}

impl WebBrowser {
    /// Starts one with a profile of its own in `folder`.
    pub fn start(folder: &Path, window: BrowserWindow) -> Result<Self, PartError> {
        let port = free_port()?;
        let mut command = Command::new("chromedriver");
        command.arg(format!("--port={port}"));
        let driver = TestProcess::start(&command, &folder.join(format!("driver-{port}.log")))?;
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()
            .map_err(failed)?;
        let options = window.options(&folder.join(format!("profile-{port}")));
        let options = options.as_object().cloned().unwrap_or_default();
        let address = format!("http://127.0.0.1:{port}");
        let client = runtime.block_on(async {
            let begin = Instant::now();
            loop {
                let mut builder = ClientBuilder::new(HttpConnector::new());
                let asked = builder.capabilities(options.clone()).connect(&address);
                match asked.await {
                    Err(_) if begin.elapsed() < PATIENCE => {
                        tokio::time::sleep(Duration::from_millis(50)).await;
                    }
                    other => return other.map_err(failed),
                }
            }
        })?;
        Ok(Self {
            runtime,
            client,
            keys: 0,
            clicks: 0,
            _driver: driver,
        })
    }

    fn wait<T>(&self, work: impl Future<Output = Result<T, CmdError>>) -> Result<T, PartError> {
        self.runtime.block_on(work).map_err(failed)
    }

    /// Opens an address.
    pub fn go(&self, address: &str) -> Result<(), PartError> {
        self.wait(self.client.goto(address))
    }

    /// Runs the body of a function in the page and returns its value.
    pub fn script(&self, body: &str, arguments: Vec<Value>) -> Result<Value, PartError> {
        self.wait(self.client.execute(body, arguments))
    }

    /// Runs a script that calls its last argument when it is done.
    pub fn script_later(&self, body: &str, arguments: Vec<Value>) -> Result<Value, PartError> {
        self.wait(self.client.execute_async(body, arguments))
    }

    /// The value of an expression in the page.
    pub fn value(&self, expression: &str) -> Result<Value, PartError> {
        self.script(&format!("return ({expression})"), Vec::new())
    }

    /// The value of an expression as text; empty where there is none.
    pub fn text(&self, expression: &str) -> Result<String, PartError> {
        let value = self.value(expression)?;
        Ok(match value {
            Value::String(text) => text,
            Value::Null => String::new(),
            other => other.to_string(),
        })
    }

    /// Waits until an expression is true. Between two pages nothing is.
    pub fn until(&self, expression: &str) -> Result<(), PartError> {
        let holds = || {
            self.value(expression)
                .is_ok_and(|value| value == json!(true))
        };
        if wait_until(PATIENCE, holds) {
            return Ok(());
        }
        let at = self.text("location.href + ' ' + document.body.innerText")?;
        Err(failed(format!("{expression} did not come true at {at}")))
    }

    /// Waits for a page whose path begins with this, loaded completely.
    pub fn arrive(&self, path: &str) -> Result<(), PartError> {
        self.until(&format!(
            "document.readyState === 'complete' && location.pathname.startsWith('{path}')"
        ))
    }

    /// Presses one key and lets it go.
    pub fn press(&mut self, key: char) -> Result<(), PartError> {
        self.keys += 1;
        let down = KeyAction::Down { value: key };
        let up = KeyAction::Up { value: key };
        let keys = KeyActions::new("keys".into()).then(down).then(up);
        self.wait(self.client.perform_actions(keys))
    }

    /// Presses one key while another is held down.
    pub fn chord(&mut self, held: char, key: char) -> Result<(), PartError> {
        self.keys += 1;
        let down = |value| KeyAction::Down { value };
        let up = |value| KeyAction::Up { value };
        let keys = KeyActions::new("keys".into());
        let keys = keys.then(down(held)).then(down(key));
        self.wait(
            self.client
                .perform_actions(keys.then(up(key)).then(up(held))),
        )
    }

    /// Types a text, key by key.
    pub fn write(&mut self, text: &str) -> Result<(), PartError> {
        text.chars().try_for_each(|key| self.press(key))
    }

    /// Clicks the first element that a selector finds.
    pub fn click(&mut self, selector: &str) -> Result<(), PartError> {
        self.clicks += 1;
        self.wait(async {
            let found = self.client.find(Locator::Css(selector)).await?;
            found.click().await
        })
    }

    /// The visible part of the page, as PNG.
    pub fn picture(&self) -> Result<Vec<u8>, PartError> {
        self.wait(self.client.screenshot())
    }

    /// The whole page, including what does not fit into the window, as PNG.
    pub fn whole_picture(&self) -> Result<Vec<u8>, PartError> {
        // A window's size counts its frame too.
        let size = self.value(
            "(scrollTo(0, 0), [outerWidth, document.documentElement.scrollHeight + outerHeight - innerHeight])",
        )?;
        let number = |index: usize| {
            let number = size.get(index).and_then(Value::as_u64);
            number
                .and_then(|number| u32::try_from(number).ok())
                .unwrap_or(900)
        };
        let (width, height) = (number(0), number(1));
        let (before_width, before_height) = self.wait(self.client.get_window_size())?;
        self.wait(self.client.set_window_size(width, height.max(600)))?;
        let picture = self.picture();
        let size = |length: u64| u32::try_from(length).unwrap_or(900);
        self.wait(
            self.client
                .set_window_size(size(before_width), size(before_height)),
        )?;
        picture
    }

    /// The text of an alert that is open, if one is.
    pub fn alert(&self) -> Option<String> {
        self.wait(self.client.get_alert_text()).ok()
    }

    /// Opens a second tab and switches to it; returns the first one.
    pub fn new_tab(&self) -> Result<BrowserTab, PartError> {
        let first = self.wait(self.client.window())?;
        let new = self.wait(self.client.new_window(true))?;
        self.wait(self.client.switch_to_window(new.handle))?;
        Ok(BrowserTab(first))
    }

    /// Switches to a tab; returns the one that was in front.
    pub fn turn_to(&self, tab: &BrowserTab) -> Result<BrowserTab, PartError> {
        let before = self.wait(self.client.window())?;
        self.wait(self.client.switch_to_window(tab.0.clone()))?;
        Ok(BrowserTab(before))
    }

    /// Number of keys and clicks since the start.
    pub fn effort(&self) -> (usize, usize) {
        (self.keys, self.clicks)
    }
}

/// A tab of a browser.
#[derive(Debug, Clone)]
pub struct BrowserTab(fantoccini::wd::WindowHandle);

impl Drop for WebBrowser {
    fn drop(&mut self) {
        // Its windows close with the session; if there is none, there is nothing to close.
        let _ = self.wait(self.client.clone().close());
    }
}
