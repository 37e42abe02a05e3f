"""fitback.toml: every key is checked, and what is wrong is said in one sentence."""

from datetime import date

import pytest

from pipeline.errors import UserError
from pipeline.settings import Settings, load_settings, settings_table


def load(folder, text):
    (folder / "fitback.toml").write_bytes(text.encode())
    return load_settings(folder)


def test_without_a_file_everything_has_its_default(tmp_path):
    settings, catalogue = load_settings(tmp_path)
    assert settings == Settings()
    assert (settings.repeat_days, settings.seed, settings.log_ends_with_warranty) == (28, 1, False)
    assert "frame_width" in {measure.name for measure in catalogue.measures}


def test_every_setting_is_read(tmp_path):
    settings, catalogue = load(
        tmp_path,
        '\ufefffirm = "Example Doors"\ncurrency = "EUR"\nas_of = 2026-01-31\ncallbacks_from = 2024-01-01\n'
        "warranty_months = 24\nlog_ends_with_warranty = true\nlabour_rate = 38\ncallback_cost = 210.5\n"
        "rework_cost = 90\n"
        "crew_codes = true\n"
        'planned_doors_per_month = 40\nrepeat_days = 14\nseed = 7\n[[measure]]\nname = "bolt_throw"\nunit = "mm"\n',
    )
    assert settings == Settings(
        "Example Doors", "EUR", date(2026, 1, 31), date(2024, 1, 1), 24.0, True, 38.0, 210.5, 90.0, 40.0, 14, 7, True
    )
    assert catalogue.measures[-1].name == "bolt_throw"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("firm = ", "fitback.toml cannot be read: invalid value (line 1); correct that line."),
        ("a = 1\nfirm = x\n", "cannot be read: invalid value (line 2, column 8)"),
        ('firm = "x\ncurrency = 3\n', "cannot be read: a text has no quotation mark at its end (line 1, column 10)"),
        ("[[measure]\n", "cannot be read: "),
        ("labor_rate = 38", "'labor_rate' is not a setting; did you mean labour_rate"),
        ("zzz = 1", "'zzz' is not a setting; known keys are firm, currency, as_of"),
        ('as_of = "31/01/2026"', "as_of = '31/01/2026' must be a date, such as 2026-01-31."),
        ('as_of = "2026-02-30"', "must be a date"),
        ("firm = 3", "firm = 3 must be a text"),
        ("labour_rate = -1", "labour_rate = -1 must be a number, zero or more."),
        ("labour_rate = nan", "must be a number"),
        ("labour_rate = true", "must be a number"),
        ("repeat_days = 2.5", "repeat_days = 2.5 must be a whole number, zero or more."),
        ('log_ends_with_warranty = "yes"', "must be true or false"),
        ('[[measure]]\nname = "x"', "[[measure]] x: 'unit' is missing; add it."),
        ("log_ends_with_warranty = true", "log_ends_with_warranty needs warranty_months"),
        ('[[mesure]]\nname = "x"', "'mesure' is not a setting; did you mean measure"),
    ],
)
def test_a_broken_file_gives_one_sentence(tmp_path, text, words):
    with pytest.raises(UserError) as caught:
        load(tmp_path, text)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_file_that_is_not_utf8(tmp_path):
    (tmp_path / "fitback.toml").write_bytes(b'firm = "M\xfcller"')
    with pytest.raises(UserError, match="save it as UTF-8"):
        load_settings(tmp_path)


def test_the_settings_table_has_one_row_with_as_of_resolved():
    table = settings_table(Settings(firm="Example Doors"), date(2026, 1, 31))
    assert table.height == 1
    assert table["as_of"].to_list() == [date(2026, 1, 31)]
    assert table.columns == list(Settings.__dataclass_fields__)
