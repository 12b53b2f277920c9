"""One job over all rooms below: its price, the price of a slip, defects, the record, and the shop's log of cards."""
