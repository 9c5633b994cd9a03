"""Pages for paper or a browser: `sheet_page` the contact sheet, `card_page` the set card, with the plan
to scale of `plan_drawing`."""
