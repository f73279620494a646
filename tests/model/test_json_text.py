"""Text that is no JSON, keys given twice, and the hash that keeps the spelling of numbers."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from scheduler.model.codec import (
    BadFile,
    decode_plan,
    decode_scenario,
    hash_text,
    read_plan_file,
    read_scenario_file,
    to_json,
)
from tests.builders import WORKED_EXAMPLE
from tests.model.damage import scenario_messages

TEXT = (WORKED_EXAMPLE / "scenario.json").read_text("utf-8")

UNREADABLE: list[tuple[str | bytes, str]] = [
    ("", "the file is empty"),
    (b"\xef\xbb\xbf \n", "the file is empty"),
    (b"\xff\xfe{\x00", "this is not UTF-8 text: byte 1 is 0xff"),
    (TEXT.encode("utf-16"), "this is not UTF-8 text: byte 1 is 0xff"),
    (b'{"a": "\x80"}', "this is not UTF-8 text: byte 8 is 0x80"),
    ("{\n 'a': 1}", "this is not JSON: line 2, column 2: Expecting property name enclosed in double quotes"),
    (TEXT[:100], "this is not JSON: line 6, column 3: Unterminated string starting at"),
    (TEXT + "}", "this is not JSON: line 1116, column 2: Extra data"),
    ("[]", "an object belongs at the top of the file, there is a list of 0"),
    ("null", "an object belongs at the top of the file, there is null"),
    ('"\\ud800"', 'an object belongs at the top of the file, there is "\\ud800"'),
    ("[" * 100_000, "the lists and objects are nested too deeply to be read"),
    ('{"a":' * 100_000, "the lists and objects are nested too deeply to be read"),
]


@pytest.mark.parametrize(("text", "message"), UNREADABLE, ids=map(str, range(len(UNREADABLE))))
def test_unreadable_text_is_one_message(text: str | bytes, message: str) -> None:
    for decode in (decode_scenario, decode_plan):
        with pytest.raises(BadFile) as caught:
            decode(text)
        assert [str(offence) for offence in caught.value.offences] == [message]


def test_a_byte_order_mark_does_no_harm() -> None:
    marked = b"\xef\xbb\xbf" + TEXT.encode("utf-8")
    assert decode_scenario(marked) == decode_scenario(TEXT)
    assert hash_text(marked) == hash_text(TEXT)


def test_keys_given_twice_are_found_wherever_they_are() -> None:
    text = TEXT.replace('"ambient_c": 20,', '"ambient_c": 20, "ambient_c": 25, "ambient_c": 20,')
    text = text.replace('"id": "n06h",', '"id": "n06h", "id": "n06h",')
    assert scenario_messages(text) == [
        "site.ambient_c: the key is given 3 times in one object",
        "printers[0].heads[0].nozzles[1].id: printer P1, head H1, nozzle n06h: the key is given 2 "
        "times in one object",
        "printers[1].heads[0].nozzles[0].id: printer P2, head H1, nozzle n06h: the key is given 2 "
        "times in one object",
    ]


def test_a_number_of_thousands_of_digits_is_too_large_wherever_it_stands() -> None:
    text = TEXT.replace('"ambient_c": 20,', '"ambient_c": ' + "9" * 6000 + ",", 1)
    text = text.replace('"print_min": 61,', '"print_min": -' + "9" * 6000 + ",", 1)
    assert scenario_messages(text) == [
        "site.ambient_c: Infinity is too large (at most 1000000000)",
        "jobs[0].print_min: job A: -Infinity is not a whole number",
    ]


def test_files_that_cannot_be_opened(tmp_path: Path) -> None:
    missing = tmp_path / "none.json"
    for read in (read_scenario_file, read_plan_file):
        with pytest.raises(BadFile, match=r"none\.json can't be read: No such file or directory"):
            read(missing)
        with pytest.raises(BadFile, match="can't be read: Is a directory"):
            read(tmp_path)
        with pytest.raises(BadFile, match="can't be read"):
            read("a\0b")


def sha(canonical: str) -> str:
    return hashlib.sha256(canonical.encode("utf-8")).hexdigest()


@pytest.mark.parametrize(
    ("text", "canonical"),
    [
        ('{"b": 1, "a": [1.0, 2]}', '{"a":[1.0,2],"b":1}'),
        ('{ "b":\t1.50,"a":-0, "e":{}, "l":[ ] }', '{"a":-0,"b":1.50,"e":{},"l":[]}'),
        ('{"n": [1e2, 1E+2, 100, 0.10]}', '{"n":[1e2,1E+2,100,0.10]}'),
        ('{"é": "\\u00e9\\n\\"", "z": true, "y": null}', '{"y":null,"z":true,"é":"é\\n\\""}'),
        ('{"é": "\\u00e9", "x": 2.00}', '{"x":2.00,"é":"é"}'),
        ('{"long": ' + "9" * 5000 + "}", '{"long":' + "9" * 5000 + "}"),
        ("0.30000000000000004441", "0.30000000000000004441"),
    ],
)
def test_the_hash_is_of_the_canonical_text(text: str, canonical: str) -> None:
    assert hash_text(text) == sha(canonical)


def test_a_text_that_has_no_hash_is_refused() -> None:
    with pytest.raises(BadFile, match="half of a surrogate pair"):
        hash_text('{"a": "\\ud800"}')
    with pytest.raises(BadFile, match="half of a surrogate pair"):
        hash_text('{"a": "\\ud800", "b": 1.00}')
    with pytest.raises(BadFile, match="not JSON"):
        hash_text("{")


def test_written_text_is_indented_and_unescaped() -> None:
    assert to_json({"name": "Größe", "list": [1]}) == '{\n "name": "Größe",\n "list": [\n  1\n ]\n}\n'
