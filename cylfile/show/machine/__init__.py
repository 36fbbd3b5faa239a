"""Forms for machines: JSON, CSV, SARIF, calendars, lines that editors jump by."""
