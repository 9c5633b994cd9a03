"""The order: which pieces and views a client wants, read from a table or typed, and how much of it is done.

Read `client_order` first (the values), then `order_table` (a CSV file into an order, or its faults by row and column)
and `order_progress` (what was shot for each view, what is to go, which view comes next).
"""
