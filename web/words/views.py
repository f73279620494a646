"""The glossary page."""

from __future__ import annotations

from flask import Blueprint, render_template

from web.words.glossary import GLOSSARY

blueprint = Blueprint("words", __name__)


@blueprint.get("/words")
def show() -> str:
    """Every word of the shop with its meaning."""
    return render_template("words/show.html", chapters=GLOSSARY)
