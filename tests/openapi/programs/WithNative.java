// Books, starts and sweeps with the client that openapi-generator made for Java's own HTTP client: URL DEMO STARTUP SWEEP.

import coldwright.api.ExplorationApi;
import coldwright.api.PlansApi;
import coldwright.api.StartupsApi;
import coldwright.client.ApiClient;
import coldwright.client.ApiException;
import coldwright.model.BookingFleet;
import coldwright.model.BookingOrder;
import coldwright.model.KeptBooking;
import coldwright.model.StartupDocument;
import coldwright.model.Sweep;
import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.nio.file.Files;
import java.nio.file.Path;

public class WithNative {
    private static final ObjectMapper MAPPER = ApiClient.createDefaultObjectMapper();

    public static void main(String[] arguments) throws Exception {
        Path demo = Path.of(arguments[1]);
        ApiClient client = new ApiClient();
        client.updateBaseUri(arguments[0]);
        PlansApi plans = new PlansApi(client);

        BookingFleet fleet = read(demo.resolve("fleet.json"), BookingFleet.class);
        same(plans.putFleet("demo", fleet, null, null).getVersion(), 1L, "version of the fleet");
        ObjectNode sent = (ObjectNode) MAPPER.readTree(demo.resolve("order-indoor.json").toFile());
        sent.put("fleet_id", "demo").remove("fleet");
        BookingOrder order = MAPPER.treeToValue(sent, BookingOrder.class);
        String reference = order.getReference();
        KeptBooking booked = plans.putBooking(reference, order, null, null, null, null, null, null);
        same(booked.getState().getValue(), "held", "state");
        same(plans.getBooking(reference, null, null, null, null).getAssessment(), booked.getAssessment(), "assessment");
        same(plans.putBooking(reference, order, null, null, null, null, null, null).getRevision(), 1L, "revision of the same again");
        same(refusal(() -> plans.returnBooking(reference, null, null, null, null)), 409, "a return of what is held");
        same(plans.confirmBooking(reference, null, null, null, null).getState().getValue(), "confirmed", "state");

        StartupsApi starts = new StartupsApi(client);
        starts.putStartup("S-1", read(Path.of(arguments[2]), StartupDocument.class), null, null);
        String status = starts.getStartup("S-1", null, null, null, null, null, null, null).getVerdict().getResults().getStatus().getValue();
        if (!status.equals("wait") && !status.equals("blocked")) {
            throw new AssertionError("status of a start without records: " + status);
        }
        Sweep sweep = read(Path.of(arguments[3]), Sweep.class);
        if (new ExplorationApi(client).evaluateSweep(sweep, null).getRows().size() < 2) {
            throw new AssertionError("the sweep has no rows");
        }
    }

    private static <T> T read(Path path, Class<T> type) throws Exception {
        JsonNode tree = MAPPER.readTree(Files.readString(path));
        return MAPPER.treeToValue(tree, type);
    }

    private interface Call {
        void make() throws ApiException;
    }

    private static int refusal(Call call) {
        try {
            call.make();
            return 200;
        } catch (ApiException refused) {
            return refused.getCode();
        }
    }

    private static void same(Object found, Object wanted, String what) {
        if (!wanted.equals(found)) {
            throw new AssertionError(what + ": " + found + ", not " + wanted);
        }
    }
}
