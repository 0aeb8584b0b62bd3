"""A checker from outside: outloud, which knows nothing of us (PDF/UA-1, and what somebody who listens stumbles on)."""

import outloud


def found_by_outloud(pdf, folder):
    """The rules that it says are broken, errors and warnings alike, each with its words."""
    path = folder / "paper.pdf"
    path.write_bytes(pdf)
    result = outloud.check(str(path))
    assert result.error is None
    broken_off = [run.rule for run in result.runs if run.status == "crashed"]
    assert broken_off == []
    assert len([run for run in result.runs if run.status in {"ran", "not-applicable"}]) > 80
    return {
        finding.rule: f"{finding.message} ({finding.evidence})"
        for finding in result.findings
        if finding.severity in {"error", "warning"}
    }
