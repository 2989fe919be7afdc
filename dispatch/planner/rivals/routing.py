"""The OR-Tools routing library on the same night: guided local search over orders, timed by our own rules.

What it cannot be told, or only roughly:

- a piece of kit lies on one shelf and is used up: each car that lacks a code fetches it anew for every
  job, from whichever shelf is soonest, and pieces that will be ready later do not count;
- of two vets one both leads and brings the kit;
- the step in price of an outcome that worsens is a slope over an hour, waiting is priced from arrive-by
  on, and being awake, new work before accepted work and a neighbour's room have no price;
- a job short of its second vet is left altogether.

Nor does its search put both vets of a job in at once. So what it finds are orders. They are timed and
priced as every plan is; a job that breaks a rule then is taken out, and every job that is left is put
where it costs least, which favours the library.
"""

from time import perf_counter

from ortools.constraint_solver import pywrapcp, routing_enums_pb2, routing_parameters_pb2

from dispatch.planner.draft import Draft, draft
from dispatch.planner.greedy import binding_work
from dispatch.planner.insertion import Standing
from dispatch.planner.problem import Job, Problem
from dispatch.planner.rivals.answered import Answered
from dispatch.planner.rivals.routing_model import RoutingNight

Orders = dict[str, tuple[str, ...]]
LEAST_SECONDS = 0.01


def routed(problem: Problem, seconds: float) -> Answered:
    """The best orders of the library in the seconds, as a plan; it proves nothing."""
    began = perf_counter()
    night = RoutingNight(problem)
    solution = night.model.SolveWithParameters(_parameters(seconds - (perf_counter() - began)))
    if solution is None:
        return Answered(None, None, False)
    return Answered(kept_to_the_rules(problem, _orders(problem, night, solution)), None, False)


def _parameters(seconds: float) -> routing_parameters_pb2.RoutingSearchParameters:
    parameters = pywrapcp.DefaultRoutingSearchParameters()
    parameters.first_solution_strategy = routing_enums_pb2.FirstSolutionStrategy.PARALLEL_CHEAPEST_INSERTION
    parameters.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
    parameters.time_limit.FromMilliseconds(round(1000 * max(LEAST_SECONDS, seconds)))
    return parameters


def _orders(problem: Problem, night: RoutingNight, solution: pywrapcp.Assignment) -> Orders:
    """Each vet's jobs in order."""
    orders: Orders = {}
    for number, vet in enumerate(problem.vets):
        index, jobs = night.model.Start(number), []
        while not night.model.IsEnd(index):
            index = solution.Value(night.model.NextVar(index))
            if not night.model.IsEnd(index):
                node = night.manager.IndexToNode(index) - night.tables.first_node
                jobs.append(night.nodes[node].job.id)
        orders[vet.id] = tuple(dict.fromkeys(jobs))
    return orders


def kept_to_the_rules(problem: Problem, orders: Orders) -> Draft:
    """The orders as a plan, built up job by job where they break a rule; what is left then goes anywhere."""
    whole = draft(problem, orders)
    standing = Standing(binding_work(problem) if whole is None else whole)
    for job in _as_they_come(problem, orders):
        if job.id in standing.left:
            _put_as_ordered(standing, orders, job)
    for job in problem.jobs:
        if job.id in standing.left:
            standing.put_in(job)
    return standing.draft()


def _as_they_come(problem: Problem, orders: Orders) -> list[Job]:
    """First all that come first in an order, then all that come second, and so on."""
    turn = {job: position for order in orders.values() for position, job in enumerate(order)}
    return sorted((job for job in problem.jobs if job.id in turn), key=lambda job: turn[job.id])


def _put_as_ordered(standing: Standing, orders: Orders, job: Job) -> None:
    """Put the job where the orders have it, if no rule is broken by that."""
    wanted = {
        vet: _in_order(order, (*standing.parts[vet].order, job.id))
        for vet, order in orders.items()
        if job.id in order
    }
    found = standing.tried(wanted, job) if len(wanted) == job.vets_needed else None
    if found is not None:
        standing.apply(found)


def _in_order(order: tuple[str, ...], jobs: tuple[str, ...]) -> tuple[str, ...]:
    """Jobs as the order has them; what it lacks comes first, being held."""
    return tuple(sorted(jobs, key=lambda job: order.index(job) if job in order else -1))
