"""``python -m config.look``: write the tokens into the stylesheets."""

from pathlib import Path

from config.look.stylesheet import made_stylesheets

for _path, _text in made_stylesheets(Path(__file__).resolve().parents[2] / "static").items():
    _path.write_text(_text)
