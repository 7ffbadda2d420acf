"""The bench: how much to weigh of each test and in which way, what to do when too much went in, many cups at one go.

What is worked out stands in plan, rescue and cups; each form that it is shown in has a module of its own beside it.
Nothing here touches a file. Figures come from weighing/, hazards and handling notes from the batch sheet.
"""
