"""A browser without a window, driven over the WebDriver protocol (W3C WebDriver, 2018) with urllib alone."""

import base64
import json
import os
import re
import shutil
import subprocess
import time
import urllib.error
import urllib.request
from pathlib import Path

STARTED = re.compile(r"started successfully on port (\d+)")
PATIENCE = 30.0  # s
LOCAL = ("file:", "data:", "about:", "chrome:")


def missing():
    """What is not there to run a browser; empty if all is."""
    programs = {"chromium": chromium(), "chromedriver": shutil.which("chromedriver")}
    return ", ".join(name for name, path in programs.items() if path is None)


def chromium():
    """The browser's program."""
    return shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


def ask(address, method, path, body=None):
    """One request; the value of its answer."""
    data = None if body is None else json.dumps(body).encode()
    request = urllib.request.Request(
        f"{address}{path}", data, {"Content-Type": "application/json"}, method=method
    )
    try:
        with urllib.request.urlopen(request, timeout=PATIENCE) as answer:
            return json.load(answer)["value"]
    except urllib.error.HTTPError as error:
        raise RuntimeError(f"{method} {path}: {error.read().decode()[:500]}") from error


class Driver:
    """A running chromedriver on a port of its own choice."""

    def __init__(self, folder):
        self.log = Path(folder) / "driver.log"
        with self.log.open("wb") as log:
            # The port is told on standard output. No proxy stands between us and our own machine.
            self.process = subprocess.Popen(
                [shutil.which("chromedriver"), "--port=0"],
                stdout=log,
                stderr=subprocess.STDOUT,
                env={**os.environ, "NO_PROXY": "*", "no_proxy": "*"},
            )
        self.folder = Path(folder)
        self.address = f"http://127.0.0.1:{self.port()}"

    def port(self):
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until:
            if found := STARTED.search(self.log.read_text(errors="replace")):
                return int(found.group(1))
            time.sleep(0.05)
        raise RuntimeError("chromedriver did not start: " + self.log.read_text(errors="replace"))

    def stop(self):
        self.process.terminate()
        self.process.wait(PATIENCE)


class Browser:
    """One browser: a width in CSS pixels, light or dark, phone or desk, scripts or none."""

    def __init__(self, driver, width=1280, height=900, *, phone=False, dark=False, scripts=True):
        options = {
            "binary": chromium(),
            "args": [
                "--headless=new",
                "--no-sandbox",
                "--disable-dev-shm-usage",
                "--disable-gpu",
                "--no-first-run",
                "--disable-background-networking",
                "--disable-component-update",
                f"--window-size={width},{height}",
            ],
            "prefs": {} if scripts else {"profile.managed_default_content_settings.javascript": 2},
        }
        if phone:
            options["mobileEmulation"] = {
                "deviceMetrics": {"width": width, "height": height, "pixelRatio": 2.0, "touch": True}
            }
        wanted = {
            "browserName": "chrome",
            "goog:chromeOptions": options,
            "goog:loggingPrefs": {"browser": "ALL", "performance": "ALL"},
        }
        self.address = driver.address
        body = {"capabilities": {"alwaysMatch": wanted}}
        self.session = ask(self.address, "POST", "/session", body)["sessionId"]
        if dark:
            self.command(
                "Emulation.setEmulatedMedia",
                features=[{"name": "prefers-color-scheme", "value": "dark"}],
            )

    def ask(self, method, path, body=None):
        return ask(self.address, method, f"/session/{self.session}{path}", body)

    def command(self, name, **parameters):
        """A command of the browser's own protocol."""
        return self.ask("POST", "/goog/cdp/execute", {"cmd": name, "params": parameters})

    def open(self, path):
        self.ask("POST", "/url", {"url": Path(path).resolve().as_uri()})

    def run(self, script):
        """The value of a piece of script; works in a page whose own scripts are off, too."""
        return self.ask("POST", "/execute/sync", {"script": script, "args": []})

    def log(self, kind):
        return self.ask("POST", "/se/log", {"type": kind})

    def complaints(self):
        """What the browser's console says."""
        return [entry["message"] for entry in self.log("browser")]

    def foreign_requests(self):
        """Addresses asked for that are neither this file's nor within it."""
        messages = [json.loads(entry["message"])["message"] for entry in self.log("performance")]
        asked = [
            message["params"]["request"]["url"]
            for message in messages
            if message["method"] == "Network.requestWillBeSent"
        ]
        return [url for url in asked if not url.startswith(LOCAL)]

    def picture(self, path, *, whole=False):
        """Save what is seen, or the whole page, as png."""
        shot = self.command(
            "Page.captureScreenshot", format="png", captureBeyondViewport=whole, **self.clip(whole)
        )
        Path(path).write_bytes(base64.b64decode(shot["data"]))

    def clip(self, whole):
        if not whole:
            return {}
        size = self.command("Page.getLayoutMetrics")["cssContentSize"]
        return {"clip": {"x": 0, "y": 0, "width": size["width"], "height": size["height"], "scale": 1}}

    def pdf(self):
        """The page as it prints on A4."""
        size = {"pageWidth": 21.0, "pageHeight": 29.7}
        body = {"page": {"width": size["pageWidth"], "height": size["pageHeight"]}}
        try:
            return base64.b64decode(self.ask("POST", "/print", body))
        except RuntimeError:  # seen once on a machine with ten times the work it can do: "Printing failed"
            return base64.b64decode(self.ask("POST", "/print", body))

    def close(self):
        self.ask("DELETE", "")
