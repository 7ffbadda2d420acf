"""What a test fires to, told to a person, a program or a spreadsheet. Pure: text out of data, no file is touched."""
