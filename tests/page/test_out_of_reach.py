"""By https in a real browser: the last round, read-only, when the house is out of reach.

The browser trusts the certificate made here by its key, as a phone does once it is installed.
"""

import base64
import hashlib
import os
import signal
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from demo_made import demo_garden
from page.test_browser import browser, pytestmark, wait
from page.test_command import end, line_with, started
from selenium import webdriver
from selenium.webdriver.common.by import By

__all__ = ["pytestmark"]


def spki(certificate: Path) -> str:
    """The key of a certificate as a browser pins it: SHA-256 of its SubjectPublicKeyInfo."""
    key = x509.load_pem_x509_certificate(certificate.read_bytes()).public_key()
    told = key.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    return base64.b64encode(hashlib.sha256(told).digest()).decode()


@pytest.fixture
def house(tmp_path: Path) -> Iterator[tuple[subprocess.Popen[str], str, Path]]:
    process = started(demo_garden(tmp_path), "--tls", "--offline")
    url = line_with(process, "The round: https").split()[2]
    yield process, url, Path(line_with(process, "Certificate:").split(": ")[1])
    if process.poll() is None:
        end(process)


def test_the_last_round_is_there_to_read_when_the_house_is_gone(
        house: tuple[subprocess.Popen[str], str, Path], tmp_path: Path) -> None:
    """Seen once, that is enough; with its age on top; nothing can be ticked."""
    process, url, certificate = house
    chrome = browser(more=[f"--user-data-dir={tmp_path / 'profile'}",
                           f"--ignore-certificate-errors-spki-list={spki(certificate)}"])
    try:
        chrome.get(url)
        assert chrome.execute_script("return isSecureContext")
        seen = rows(chrome)
        assert len(seen) == 20
        assert chrome.execute_async_script(
            "navigator.serviceWorker.ready.then((it) => arguments[0](it.active.scriptURL))"
        ) == f"{url}worker.js"
        wait(chrome, lambda: chrome.execute_async_script(
            "caches.match('/').then((kept) => arguments[0](Boolean(kept)))"))
        assert end(process) in (0, 130)
        chrome.get(url)
        head = chrome.find_element(By.CSS_SELECTOR, "main > :first-child")
        assert head.text == ("The house is out of reach. This is the round of 0 min ago, to be "
                             "read only.")
        assert rows(chrome) == seen
        assert chrome.execute_script(
            "return getComputedStyle(document.querySelector('main')).maxWidth") != "none"
        offered = chrome.find_elements(By.CSS_SELECTOR, "button, summary, input")
        assert offered
        assert not any(each.is_displayed() for each in offered)
        assert chrome.find_elements(By.TAG_NAME, "script") == []
        if shots := os.environ.get("ADVISOR_SHOTS"):
            chrome.save_screenshot(str(Path(shots) / "out-of-reach.png"))
    finally:
        chrome.quit()


def test_a_house_that_does_not_answer_is_waited_for_a_while_only(
        house: tuple[subprocess.Popen[str], str, Path], tmp_path: Path) -> None:
    process, url, certificate = house
    chrome = browser(more=[f"--user-data-dir={tmp_path / 'profile'}",
                           f"--ignore-certificate-errors-spki-list={spki(certificate)}"])
    try:
        chrome.get(url)
        wait(chrome, lambda: chrome.execute_async_script(
            "caches.match('/').then((kept) => arguments[0](Boolean(kept)))"))
        chrome.get("about:blank")
        process.send_signal(signal.SIGSTOP)
        chrome.get(url)
        assert "out of reach" in chrome.find_element(By.CSS_SELECTOR, "main > :first-child").text
        process.send_signal(signal.SIGCONT)
        chrome.get(url)
        wait(chrome, lambda: "out of reach" not in chrome.find_element(By.ID, "main").text)
    finally:
        process.send_signal(signal.SIGCONT)
        chrome.quit()


def rows(chrome: webdriver.Chrome) -> list[str]:
    return [each.text for each in chrome.find_elements(By.CSS_SELECTOR, "#round li > div")]
