"""What leaves the table on paper or as a page: `sheet_page` the contact sheet, `card_page` the set card, with the plan
to scale of `plan_drawing`."""
