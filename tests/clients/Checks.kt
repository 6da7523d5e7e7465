// Calls one operation with its committed example, and holds what the generated models keep of request and answer.
package checks

import java.io.File
import java.math.BigDecimal
import kotlinx.serialization.json.JsonArray
import kotlinx.serialization.json.JsonElement
import kotlinx.serialization.json.JsonObject
import kotlinx.serialization.json.JsonPrimitive
import kotlinx.serialization.json.encodeToJsonElement
import org.openapitools.client.infrastructure.ApiClient
import org.openapitools.client.infrastructure.Serializer

inline fun <reified I, reified O> post(name: String, examples: String, call: (I) -> O) {
    val sent = File("$examples/$name.json").readText()
    val request = Serializer.kotlinxSerializationJson.decodeFromString<I>(sent)
    keeps<I>(sent, request, "request of $name")
    get<O>(name) { call(request) }
}

inline fun <reified O> get(name: String, call: () -> O) {
    keeps<O>(call(), name)
    println("kotlin     $name: 200")
}

inline fun <reified O> keeps(answer: O, name: String) = keeps(ApiClient.last, answer, "answer of $name")

inline fun <reified T> keeps(text: String, value: T, where: String) {
    val json = Serializer.kotlinxSerializationJson
    val kept = if (value is JsonElement) value else json.encodeToJsonElement<T>(value)
    compare(json.parseToJsonElement(text), kept, where)
}

/** Everything of the first is in the second; defaults may have joined. */
fun compare(whole: JsonElement, kept: JsonElement?, where: String) {
    when (whole) {
        is JsonObject -> whole.forEach { (name, value) -> compare(value, (kept as? JsonObject)?.get(name), "$where/$name") }
        is JsonArray -> {
            check(kept is JsonArray && kept.size == whole.size) { "$where: $kept instead of $whole" }
            whole.forEachIndexed { at, value -> compare(value, kept[at], "$where/$at") }
        }
        is JsonPrimitive -> check(kept is JsonPrimitive && same(whole, kept)) { "$where: $kept instead of $whole" }
    }
}

fun same(one: JsonPrimitive, other: JsonPrimitive): Boolean {
    if (one.isString || other.isString || one.content == other.content) return one == other
    return BigDecimal(one.content).compareTo(BigDecimal(other.content)) == 0
}
