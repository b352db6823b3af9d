"""Falsified figures of a player, which `habits.py` must find; names folded by it."""

import habits


def test_names():
    """Spellings that agree and that do not."""
    one = habits.key("Vey, Ada")
    assert {habits.key(name) for name in ["ada vey", "VEY,ADA", "Áda Vęy", "Ada-Vey.", "Vey Ada"]} == {one}
    assert one not in {habits.key(name) for name in ["Vey, A.", "Vey"]}


def test_interval_of_a_mean():
    """The jackknife of a mean is s / √n: of 1, 2, 3, 4 the root of 5/12."""
    data = [1.0, 2.0, 3.0, 4.0]
    assert abs(habits.se([(sum(data) - x) / 3 for x in data]) - (5 / 12) ** 0.5) < 1e-15


def test_differences_are_found(capsys):
    """A count one off, a figure off by a millionth, an interval that should not be there."""
    report = habits.Report()
    report.same("count", 3, 4)
    report.same("figure", 0.5, 0.5 * (1 + 1e-6))
    habits.check_interval(report, "interval", {"low": 0.1, "high": 0.2}, None)
    report.same("right", 0.25, 0.25)
    assert (report.pairs, report.differences) == (4, 3)
    assert "count: 3, recounted 4" in capsys.readouterr().out


def test_replies_that_free():
    """A bishop behind its own pawn is freed by that pawn alone."""
    import chess

    board = chess.Board("4k3/8/8/8/8/8/1P6/B3K3 w - - 0 1")
    assert sorted(board.san(move) for move in habits.frees(board, chess.A1, 2)) == ["b3", "b4"]
