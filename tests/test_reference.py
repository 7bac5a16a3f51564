"""What README.md says of the commands is what the commands say of themselves."""

from reference import README, rewritten


def test_the_commands_in_the_readme_are_fresh():
    text = README.read_text(encoding="utf-8")
    assert rewritten(text) == text, "run: python tests/reference.py"
