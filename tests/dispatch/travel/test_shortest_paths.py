"""The graph against a plain heap-and-dictionary Dijkstra, and its two traps."""

import heapq
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dispatch.travel.network import RoadNetwork, cheapest_graph, there_and_back
from dispatch.travel.osm import RoadMap

Edges = list[tuple[int, int, float]]
SIZE = 9


def plain_dijkstra(edges: Edges, source: int) -> dict[int, float]:
    """Return the cost to every node that can be reached, by the textbook."""
    leaving: dict[int, list[tuple[int, float]]] = {}
    for a, b, cost in edges:
        leaving.setdefault(a, []).append((b, cost))
    best: dict[int, float] = {}
    queue = [(0.0, source)]
    while queue:
        cost, node = heapq.heappop(queue)
        if node in best:
            continue
        best[node] = cost
        for after, step in leaving.get(node, []):
            heapq.heappush(queue, (cost + step, after))
    return best


def both_ways(edges: Edges) -> set[int]:
    """Return the largest set of nodes that all reach each other; the one with the least node on a tie."""
    reach = {node: set(plain_dijkstra(edges, node)) for node in range(SIZE)}
    parts = {frozenset(other for other in reach[node] if node in reach[other]) for node in range(SIZE)}
    return set(min(parts, key=lambda part: (-len(part), min(part))))


def road_map(edges: Edges) -> RoadMap:
    """Return the edges as a road map, nodes a degree apart on the equator."""
    table = np.array(edges, dtype=float).reshape(-1, 3)
    start, end, cost = table[:, 0].astype(int), table[:, 1].astype(int), table[:, 2]
    return RoadMap(np.zeros(SIZE), np.arange(float(SIZE)), start, end, cost, cost * 2)


costs = st.one_of(st.just(0.0), st.floats(0.01, 100))
nodes = st.integers(0, SIZE - 1)
graphs = st.lists(st.tuples(nodes, nodes, costs), min_size=1, max_size=60)


@settings(deadline=None, max_examples=200)
@given(graphs)
def test_every_pair_agrees_with_the_textbook(edges):
    network = RoadNetwork(road_map(edges))
    kept = [int(lon) for lon in network.lon]
    solved = network.drive_min(range(len(kept)), range(len(kept)), night=False)
    for row, node in enumerate(kept):
        best = plain_dijkstra(edges, node)
        for column, other in enumerate(kept):
            assert solved[row, column] == pytest.approx(best[other], abs=1e-4)


@settings(deadline=None)
@given(graphs, st.lists(st.tuples(st.sets(nodes), st.sets(nodes)), max_size=4))
def test_what_was_asked_before_does_not_change_the_answer(edges, earlier):
    network = RoadNetwork(road_map(edges))
    kept = [int(lon) for lon in network.lon]
    for starts, ends in earlier:
        some = [{node for node in part if node < len(kept)} for part in (starts, ends)]
        assert set(network.drive_min(*some, night=False)) == {(a, b) for a in some[0] for b in some[1]}
    answer = network.drive_min(range(len(kept)), range(len(kept)), night=False)
    assert len(answer) == len(kept) ** 2
    for (a, b), cost in answer.items():
        assert cost == pytest.approx(plain_dijkstra(edges, kept[a])[kept[b]], abs=1e-4)


@settings(deadline=None)
@given(graphs)
def test_the_part_kept_is_the_largest_where_one_gets_back(edges):
    network = RoadNetwork(road_map(edges))
    kept = {int(lon) for lon in network.lon}
    assert len(kept) == len(both_ways(edges))
    assert all(kept <= set(plain_dijkstra(edges, node)) for node in kept)


@settings(deadline=None)
@given(graphs, st.data())
def test_the_path_drawn_costs_what_the_matrix_says(edges, data):
    network = RoadNetwork(road_map(edges))
    a, b = (data.draw(st.integers(0, len(network) - 1)) for _ in range(2))
    path = network.path(a, b, night=False)
    assert (path[0], path[-1]) == (a, b)
    cheapest = {}
    for start, end, cost in edges:
        cheapest[start, end] = min(cost, cheapest.get((start, end), cost))
    names = [int(network.lon[node]) for node in path]
    walked = sum(cheapest[pair] for pair in pairwise(names))
    assert walked == pytest.approx(network.drive_min([a], [b], night=False)[a, b], abs=1e-4)


def test_parallel_edges_take_the_quicker_and_are_not_added():
    graph = cheapest_graph(2, np.array([0, 0, 0]), np.array([1, 1, 1]), np.array([5.0, 3.0, 4.0]))
    assert graph[0, 1] == 3.0  # added together they would be 12
    assert graph.nnz == 1


def test_an_edge_of_no_length_still_joins():
    network = RoadNetwork(road_map([(0, 1, 0.0), (1, 0, 0.0), (1, 2, 4.0), (2, 1, 4.0)]))
    assert network.drive_min([0], [2], night=False)[0, 2] == pytest.approx(4, abs=1e-3)


def test_a_road_that_only_leads_away_is_left_out():
    graph = cheapest_graph(4, np.array([0, 1, 1]), np.array([1, 0, 2]), np.ones(3))
    assert there_and_back(graph).tolist() == [0, 1]


def test_day_and_night_are_remembered_apart():
    network = RoadNetwork(road_map([(0, 1, 5.0), (1, 0, 5.0)]))
    assert network.drive_min([0], [1], night=False)[0, 1] == 5
    assert network.drive_min([0], [1], night=True)[0, 1] == 10
    assert network.drive_min([0], [1], night=False)[0, 1] == 5


def test_a_part_of_a_solved_matrix_is_asked_again_with_more():
    edges = [(n, n + 1, 1.0) for n in range(SIZE - 1)] + [(n + 1, n, 2.0) for n in range(SIZE - 1)]
    network = RoadNetwork(road_map(edges))
    assert network.drive_min([0], [3], night=False) == {(0, 3): 3.0}
    assert network.drive_min([3, 0], [3, 0], night=False) == {(0, 0): 0, (0, 3): 3, (3, 0): 6, (3, 3): 0}
    assert network.drive_min([], [1], night=False) == {}
