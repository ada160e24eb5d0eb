"""Documents for spreadsheets and for other programs: CSV, XLSX, UBL."""
