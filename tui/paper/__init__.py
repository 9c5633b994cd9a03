"""What leaves the table on paper or as a page: `sheet_page` is the contact sheet as HTML."""
