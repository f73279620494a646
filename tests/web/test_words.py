"""The glossary, and that the pages' words are in it."""

from __future__ import annotations

import re
from pathlib import Path

from flask.testing import FlaskClient

import web
from web.board.rows import STEP_LETTERS, STEP_WORDS
from web.words.glossary import GLOSSARY

ENTRIES = [word for chapter in GLOSSARY for word in chapter.words]
KEYS = {word.key for word in ENTRIES}


def test_every_word_is_told_once(client: FlaskClient) -> None:
    page = client.get("/words").text
    assert len(KEYS) == len(ENTRIES)
    for word in ENTRIES:
        assert page.count(f'id="{word.key}"') == 1


def test_meanings_are_whole_sentences() -> None:
    for word in ENTRIES:
        assert word.meaning[0].isupper() and word.meaning.endswith("."), word.word


def test_words_of_the_drawing_are_in_the_glossary() -> None:
    assert {text.lower().replace(" ", "-") for text in STEP_WORDS.values()} <= KEYS


def test_each_kind_of_step_has_a_letter_of_its_own() -> None:
    assert STEP_LETTERS.keys() == STEP_WORDS.keys()
    assert len(set(STEP_LETTERS.values())) == len(STEP_LETTERS)
    for kind, letter in STEP_LETTERS.items():
        if kind != "down":
            assert letter.lower() in STEP_WORDS[kind].lower()


def test_links_to_words_lead_somewhere() -> None:
    templates = (Path(web.__file__).parent / "templates").rglob("*.html")
    for template in templates:
        for text, key in re.findall(r'kit\.word\("([^"]+)"(?:, "([^"]+)")?\)', template.read_text("utf-8")):
            assert (key or text).lower().replace(" ", "-") in KEYS, f"{template.name}: {text}"
