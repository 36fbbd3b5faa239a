"""What pages are set with: lines of styled text, letters, bars, tables, signs."""
