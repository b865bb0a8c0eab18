// Talks to the service through the client that openapi-generator made: java Call BASE TOKEN PIECE PHOTO.
import com.fasterxml.jackson.core.JsonGenerator;
import com.fasterxml.jackson.databind.JsonSerializer;
import com.fasterxml.jackson.databind.SerializerProvider;
import com.fasterxml.jackson.databind.module.SimpleModule;
import fullset.ApiClient;
import fullset.api.ImportsApi;
import fullset.api.PhotosApi;
import fullset.api.PiecesApi;
import fullset.api.SyncApi;
import fullset.model.Batch;
import fullset.model.Command;
import fullset.model.Outcome;
import fullset.model.Piece;
import fullset.model.PieceState;
import fullset.model.PieceTakeOutCommand;
import fullset.model.PlaceRig;
import fullset.model.ProblemCode;
import fullset.model.Push;
import fullset.model.TakePieceOut;
import java.io.File;
import java.io.IOException;
import java.io.OutputStream;
import java.nio.file.Files;
import java.security.MessageDigest;
import java.time.OffsetDateTime;
import java.time.ZoneOffset;
import java.util.HexFormat;
import java.util.List;
import java.util.UUID;
import java.util.concurrent.ThreadLocalRandom;

public final class Call {
  /** A version 7 UUID (RFC 9562): milliseconds, then chance. */
  static UUID uuid7() {
    ThreadLocalRandom chance = ThreadLocalRandom.current();
    long high = (System.currentTimeMillis() << 16) | 0x7000L | chance.nextInt(0x1000);
    return new UUID(high, (chance.nextLong() >>> 2) | 0x8000000000000000L);
  }

  /** This generator writes every body as JSON; a file's body is its bytes. */
  static final class FileBytes extends JsonSerializer<File> {
    @Override
    public void serialize(File file, JsonGenerator out, SerializerProvider ignored) throws IOException {
      out.flush();
      Files.copy(file.toPath(), (OutputStream) out.getOutputTarget());
    }
  }

  static void must(boolean holds, Object words) {
    if (!holds) throw new IllegalStateException(String.valueOf(words));
  }

  public static void main(String[] arguments) throws Exception {
    String token = arguments[1];
    UUID id = UUID.fromString(arguments[2]);
    ApiClient client = new ApiClient();
    client.updateBaseUri(arguments[0]);
    client.setRequestInterceptor(request -> request.header("Authorization", "Bearer " + token));
    client.setObjectMapper(client.getObjectMapper().registerModule(new SimpleModule().addSerializer(File.class, new FileBytes())));

    Piece piece = new PiecesApi(client).findPiece(id, null, null);
    must(piece.getTag().equals("E1-RAM") && piece.getPlace().getActualInstance() instanceof PlaceRig, piece);

    File photo = new File(arguments[3]);
    byte[] digest = MessageDigest.getInstance("SHA-256").digest(Files.readAllBytes(photo.toPath()));
    new PhotosApi(client).putPhoto(HexFormat.of().formatHex(digest), photo, null);

    PieceTakeOutCommand out =
        new PieceTakeOutCommand()
            .id(uuid7())
            .kind(PieceTakeOutCommand.KindEnum.PIECE_TAKE_OUT)
            .body(new TakePieceOut().id(id).reason("bent"));
    Push push = new Push().sentAt(OffsetDateTime.now(ZoneOffset.UTC)).commands(List.of(new Command(out)));
    Batch batch = new SyncApi(client).sendCommands(push, null, null);
    must(batch.getAnswers().get(0).getOutcome() == Outcome.APPLIED, batch);

    File file = File.createTempFile("pieces", ".csv");
    Files.writeString(file.toPath(), "Asset tag,Kind,Model,Assigned to\nJ-1,hand pump,Dorvan HP,Station 1 reserve\n");
    must(new ImportsApi(client).importRegister(file, null, null, null, true, null, null, null, null, null).getAccepted() == 1, "an import");

    // What a later server may answer is not lost on this client: it is unknown.
    must(PieceState.fromValue("on_probation") == PieceState.UNKNOWN_DEFAULT_OPEN_API, "a word");
    must(ProblemCode.fromValue("too-warm") == ProblemCode.UNKNOWN_DEFAULT_OPEN_API, "a code");
    System.out.println("java: " + piece.getTag());
  }
}
