"""The demo scenario: an invented world of vehicles, racks, papers and people, told in the words of the API's bodies.

Nothing in it is real. Names, figures, addresses and papers were made up for the demonstration, and no figure may be
used for anything that drives. The loader feeds it, in this order, through the services: accounts, publishers,
vehicles, carriers, fixings, gear, fitments, documents, confirmations of records, claims with their stories, enquiries,
and what people say of copies.
"""
